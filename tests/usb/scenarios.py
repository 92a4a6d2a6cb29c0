"""What a cable does when its adapter is plugged, pulled, swapped and renumbered, on the kernel's real drivers.

scenarios.py BENCH PROGRAMS short|long|NAME

PROGRAMS is a folder with `cable_log` and `conewright`.

Exit status: 0 all passed, 1 one failed, 2 the bench cannot run here. `usb.sh` calls it.
"""

from __future__ import annotations

import importlib.util
import json
import re
import shlex
import subprocess
import sys
import tempfile
import time
from pathlib import Path

BENCH, PROGRAMS, LENGTH = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3]
spec = importlib.util.spec_from_file_location("usbbench", BENCH)
usbbench = importlib.util.module_from_spec(spec)
sys.modules["usbbench"] = usbbench
spec.loader.exec_module(usbbench)
check, say = usbbench.check, usbbench.say

# Back by itself within this (s), from the kernel's word that the port is there. From the plug to that word the kernel
# takes about 0.4 s, and more on the emulated processor of a busy host: that part is printed, and nobody's to shorten.
BACK = 2.0


def frames(start: int, count: int) -> bytes:
    return b"".join(b"%+08.3f mm\r\n" % (number / 1000) for number in range(start, start + count))


def stream(program, device, place: int, start: int, count: int = 20) -> None:
    """Numbered values: each comes once, in order, at this place and at no other."""
    mark = program.output.mark()
    device.send(frames(start, count), baud=9600)
    program.wait(rf"^{place} value {decimal(start + count - 1)} mm", since=mark)
    seen = [line.strip() for line in program.output.since(mark) if " value " in line]
    wanted = [f"{place} value {decimal(number)} mm" for number in range(start, start + count)]
    check(seen == wanted, f"expected {wanted}, got {seen}")


def decimal(thousandths: int) -> str:
    return f"{thousandths / 1000:.3f}".rstrip("0").rstrip(".")


def open_again(program, device, place: int) -> tuple[float, float]:
    """Plugs, and waits until the port is open: how long the kernel took, and the program after that."""
    mark, events = program.output.mark(), program.bench.events.mark()
    asked = device.plug()
    there, _ = program.bench.events.wait(rf" add tty {device.node} ", since=events)
    opened = program.wait(rf"^{place} state (quiet|live)", since=mark)
    told = [line for line in program.output.since(mark) if line.startswith(f"{place} state")]
    check(not any("denied" in line or "busy" in line for line in told), f"a refusal was shown: {told}")
    check(opened - there < BACK, f"open {opened - there:.2f} s after the port was there")
    return there - asked, opened - there


def pull(program, device, place: int) -> None:
    mark = program.output.mark()
    device.unplug()
    program.wait(rf"^{place} state gone", since=mark)
    before = program.cpu_seconds()
    time.sleep(1)
    spent = program.cpu_seconds() - before
    check(spent < 0.5, f"{spent:.0%} of the emulated processor while unplugged")
    check(not program.dead_files(), f"still held: {program.dead_files()}")


def cycle(bench, device: str, turns: int, port: str, user: str | None = None) -> None:
    adapter = usbbench.DEVICES[device](bench, "BENCH 1")
    program = bench.start(["/bin/cable_log", port], user=user)
    program.wait("^0 state gone")
    took = []
    for turn in range(turns):
        took.append(open_again(program, adapter, 0))
        stream(program, adapter, 0, 100 * turn)
        pull(program, adapter, 0)
    kernel, own = (max(times) for times in zip(*took))
    say(f"        {turns} cycles, open at most {own:.2f} s after the port was there (the kernel took up to {kernel:.2f} s)")


def ftdi(bench) -> None:
    cycle(bench, "ftdi", 2, "/dev/ttyUSB0")
    check(bench.line_settings() == "9600 8N1", bench.line_settings())


def ftdi_by_identity(bench) -> None:
    cycle(bench, "ftdi", 2, "0403:6001:BENCH 1")


def acm(bench) -> None:
    cycle(bench, "acm", 2, "/dev/ttyACM0")


def without_modem_lines(bench) -> None:
    cycle(bench, "simple", 2, "/dev/ttyUSB0")


def thirty_times(bench) -> None:
    cycle(bench, "ftdi", 30, "0403:6001")


def thirty_times_acm(bench) -> None:
    cycle(bench, "acm", 30, "2341:0043")


def ordinary_user(bench) -> None:
    cycle(bench, "ftdi", 3, "0403:6001", user=usbbench.USER)


def thirty_times_as_a_user(bench) -> None:
    cycle(bench, "ftdi", 30, "0403:6001", user=usbbench.USER)


def ordinary_user_acm(bench) -> None:
    cycle(bench, "acm", 3, "2341:0043", user=usbbench.USER)


def modem_lines(bench) -> None:
    """An adapter that has the lines is told their levels, and nothing is complained of."""
    adapter = usbbench.DEVICES["ftdi"](bench, "BENCH 1")
    program = bench.start(["/bin/cable_log", "dtr=1", "rts=0", "0403:6001"])
    open_again(program, adapter, 0)
    # The adapter's requests as the emulator logs them: request 0x4001 is the modem control one, with the lines that it
    # sets in the high byte of its value and their levels in the low byte: 1 is DTR, 2 is RTS (the driver's ftdi_sio.h).
    told = re.findall(r"got control 0x4001, value (0x\w+)", (bench.work / "usb-serial.log").read_text())
    levels = {1: None, 2: None}
    for value in (int(text, 16) for text in told):
        for line in levels:
            if value >> 8 & line:
                levels[line] = bool(value & line)
    check(levels == {1: True, 2: False}, f"DTR and RTS were left at {levels}, by {told}")
    stream(program, adapter, 0, 100)
    check(not any("line to set" in line for line in program.text()), f"{program.text()}")


def modem_lines_missing(bench) -> None:
    """An adapter without the lines says so in a note, and reads all the same."""
    adapter = usbbench.DEVICES["simple"](bench, "BENCH 1")
    program = bench.start(["/bin/cable_log", "dtr=1", "rts=0", "/dev/ttyUSB0"])
    open_again(program, adapter, 0)
    stream(program, adapter, 0, 100)
    check(any("no DTR line" in line for line in program.text()), f"{program.text()}")


def renumbered(bench) -> None:
    """Another adapter takes its name while it is away: it is back under another one, and its cable goes on."""
    own, other = (bench.adapter(name, serial=name.upper()) for name in ("own", "other"))
    program = bench.start(["/bin/cable_log", "0403:6001:OWN"])
    open_again(program, own, 0)
    stream(program, own, 0, 100)
    pull(program, own, 0)
    mark = bench.events.mark()
    other.plug()
    bench.events.wait(r" add tty ttyUSB0 ", since=mark)
    mark = bench.events.mark()
    open_again(program, own, 0)
    bench.events.wait(r" add tty ttyUSB1 ", since=mark)
    stream(program, own, 0, 200)


def another_instrument(bench) -> None:
    """Another adapter takes the name while the cable is out: none of its readings is used until it is accepted."""
    own, other = (bench.adapter(name, serial=name.upper()) for name in ("own", "other"))
    bench.sh(
        "cat >/tmp/c.toml <<'END'\n"
        '[cable.bench]\nport = "/dev/ttyUSB0"\ncadence = "streams"\nframe = "text"\nunit = "mm"\nEND'
    )
    common = "CONEWRIGHT_CONFIG=/tmp/c.toml CONEWRIGHT_DATA=/tmp/d CONEWRIGHT_SOCKET=/tmp/s"
    ask = lambda words: document(bench.sh(f"{common} /bin/conewright --json {words} 2>&1", ok=False))
    cable = lambda: ask("status")["cables"][0]
    daemon = bench.start(["env", *common.split(), "/bin/conewright", "daemon", "run"])
    daemon.wait("the daemon answers", timeout=60)
    own.plug()
    until("the own one is known", lambda: "OWN" in cable().get("instrument", ""))
    own.send(frames(12, 1) * 5, baud=9600)
    until("it is read", lambda: cable()["readings"] == 5)
    own.unplug()
    until("it is gone", lambda: cable()["state"] == "gone")
    other.plug()
    until("the other one is seen", lambda: "OTHER" in cable().get("other_instrument", ""))
    check(cable()["state"] == "denied", f"{cable()}")
    other.send(frames(77000, 1) * 5, baud=9600)
    check(ask("cable accept bench").get("instrument", "").endswith("OTHER interface 0"), f"{cable()}")
    check(cable()["readings"] == 5, f"its readings were counted: {cable()}")
    other.send(frames(77000, 1) * 5, baud=9600)
    until("it is read", lambda: cable()["readings"] == 10)


def settings(bench) -> None:
    adapter = usbbench.DEVICES["ftdi"](bench, "BENCH 1")
    program = bench.start(["/bin/cable_log", "19200", "7E1", "/dev/ttyUSB0"])
    open_again(program, adapter, 0)
    check(bench.line_settings() == "19200 7E1", bench.line_settings())


def twins(bench) -> None:
    """Two adapters of one kind, pulled and put back in the other order: each cable keeps its own."""
    left, right = (bench.adapter(name, serial=name.upper()) for name in ("left", "right"))
    program = bench.start(["/bin/cable_log", "0403:6001:LEFT", "0403:6001:RIGHT"])
    for turn, (first, second) in enumerate([((0, left), (1, right)), ((1, right), (0, left))]):
        open_again(program, first[1], first[0])
        name = bench.sh("ls /dev/ttyUSB*").split()
        check(name == ["/dev/ttyUSB0"], f"the first one should be ttyUSB0: {name}")
        open_again(program, second[1], second[0])
        stream(program, left, 0, 100 + 1000 * turn)
        stream(program, right, 1, 500 + 1000 * turn)
        pull(program, left, 0)
        pull(program, right, 1)
    say("        swapped twins kept their names")


def same_serial_numbers(bench) -> None:
    """Two adapters that call themselves the same are told apart by their sockets."""
    left, right = (bench.adapter(name, serial="SAME", port=port) for name, port in (("left", "2"), ("right", "3")))
    program = bench.start(["/bin/cable_log", "0403:6001:SAME@1-2", "0403:6001:SAME@1-3"])
    # In the other order, so that the kernel's names are swapped.
    open_again(program, right, 1)
    open_again(program, left, 0)
    stream(program, left, 0, 100)
    stream(program, right, 1, 500)


def ambiguous(bench) -> None:
    """Two that fit are none, and both are shown."""
    for name in ("left", "right"):
        mark = bench.events.mark()
        bench.adapter(name, serial=name.upper()).plug()
        bench.events.wait(r" add tty ttyUSB\d+ ", since=mark)
    program = bench.start(["/bin/cable_log", "0403:6001"])
    program.wait(r"^0 state denied .*(ttyUSB0.*ttyUSB1|ttyUSB1.*ttyUSB0)")


def denied(bench) -> None:
    """Root's own node stays forbidden to an ordinary user, who is told owner, group and mode."""
    mark = bench.events.mark()
    usbbench.DEVICES["ftdi"](bench, "BENCH 1").plug()
    bench.events.wait(r" add tty ttyUSB\d+ ", since=mark)
    program = bench.start(["/bin/cable_log", "/dev/ttyUSB0"], user=usbbench.USER)
    program.wait(r"^0 state denied .*belongs to .*mode 0600")


def held(bench) -> None:
    """A port that an ordinary user's other program has for itself."""
    mark = bench.events.mark()
    usbbench.DEVICES["ftdi"](bench, "BENCH 1").plug()
    bench.events.wait(r" add tty ttyUSB\d+ ", since=mark)
    bench.sh("udevadm settle", ok=False)
    first = bench.start(["/bin/cable_log", "/dev/ttyUSB0"], user=usbbench.USER)
    first.wait("^0 state quiet")
    second = bench.start(["/bin/cable_log", "/dev/ttyUSB0"], user=usbbench.USER)
    second.wait(r"^0 state busy .*held by cable_log \(pid \d+\)")


def listen_in(bench) -> None:
    """Another program reads the keyboard beside the pedal's, as a desktop does."""
    bench.sh("cat $(ls -d /dev/input/event* | tail -n 1) >/tmp/typed 2>/dev/null & sleep 0.5")


def typed(bench) -> int:
    """How many bytes of key events that other program has been given."""
    return int(bench.sh("stat -c %s /tmp/typed"))


def key(bench, *names: str) -> None:
    """Keys of the emulated keyboard, one after the other; each is down for 50 ms."""
    for name in names:
        bench.qmp.monitor(f"sendkey {name} 50")
        time.sleep(0.5)


def document(text: str) -> dict:
    """The one document that `--json` prints, whatever was said beside it."""
    start = text.find("{")
    check(start >= 0, f"no document in {text!r}")
    return json.JSONDecoder().raw_decode(text[start:])[0]


def until(what: str, holds, timeout: float = 30) -> None:
    deadline = time.monotonic() + timeout
    while not holds():
        check(time.monotonic() < deadline, f"not within {timeout} s: {what}")
        time.sleep(0.2)


def pedal(bench) -> None:
    """A real keyboard is the pedal, of an ordinary user under udev: it marks, types nowhere else, leaves and comes back."""
    bench.sh(
        "mkdir -p /tmp/home && cat >/tmp/home/c.toml <<'END'\n"
        '[cable.bench]\nusb = "0403:6001"\ncadence = "streams"\nframe = "text"\nunit = "mm"\n'
        '[settle]\nhold = "0.1s"\nlongest = "2s"\n'
        '[pedal]\nusb = "0627:0001"\nkeys = { f9 = "mark", backspace = "undo" }\nEND\n'
        f"chown -R {usbbench.USER} /tmp/home"
    )
    common = "CONEWRIGHT_CONFIG=/tmp/home/c.toml CONEWRIGHT_DATA=/tmp/home/data CONEWRIGHT_SOCKET=/tmp/home/s"
    # Another user, root too, is turned away by the daemon.
    def ask(words: str) -> str:
        line = f"{common} /bin/conewright {words}"
        return bench.sh(f"su -s /bin/sh {usbbench.USER} -c {shlex.quote(line)} 2>&1", ok=False)

    adapter = bench.adapter(serial="BENCH")
    daemon = bench.start(["env", *common.split(), "/bin/conewright", "daemon", "run"], user=usbbench.USER)
    daemon.wait("the daemon answers", timeout=60)
    status = lambda: document(ask("--json status"))
    state = lambda: status().get("pedal", {}).get("state")
    check(state() == "gone", f"no keyboard is plugged in: {state()}")

    def plug() -> None:
        bench.qmp("device_add", driver="usb-kbd", id="pedal")
        until("the pedal is live", lambda: state() == "live")

    def unplug() -> None:
        bench.qmp("device_del", id="pedal")
        bench.qmp.wait_event("DEVICE_DELETED", device="pedal")
        until("the pedal is gone", lambda: state() == "gone")

    plug()
    listen_in(bench)
    listed = document(ask("--json cable pedal list"))["devices"]
    check(any(device["usb"].startswith("0627:0001") for device in listed), f"{listed}")
    adapter.plug()
    until("the cable is open", lambda: status()["cables"][0]["state"] in ("live", "quiet", "stale"))
    ask("session open seat --span 80")
    ask("step zero")
    marks = lambda: len(status().get("marks", []))

    def press(name: str, count: int) -> None:
        adapter.send(frames(12, 1) * 20, baud=9600)
        key(bench, name)
        until(f"{count} marks after {name}: {ask('status')}", lambda: marks() == count)

    press("f9", 1)
    press("f9", 2)
    press("backspace", 1)
    key(bench, "x")
    until("a key without work is reported", lambda: "has no action" in ask("status"))
    check(typed(bench) == 0, f"the pedal typed elsewhere too: {typed(bench)} bytes of events")
    unplug()
    plug()
    listen_in(bench)
    press("f9", 2)
    check(typed(bench) == 0, f"the pedal typed elsewhere too: {typed(bench)} bytes of events")
    notes = ask("--json session show")
    check("the pedal left" in notes and "the pedal is back" in notes, notes)
    # The counterproof: nobody has taken it any more, and its keys do reach the other program.
    ask("daemon stop")
    key(bench, "x")
    until("an untaken keyboard types", lambda: typed(bench) > 0)


def doctor(bench) -> None:
    """The rules, put in place by the program, read by udev, and found to have done what they are for."""
    adapter = bench.adapter(serial="BENCH")
    plugged = lambda: adapter.plug() and bench.sh("udevadm settle", ok=False)
    ask = lambda words: document(bench.sh(f"XDG_RUNTIME_DIR=/run /bin/conewright --data /tmp/d --json {words}", ok=False))
    wrong = lambda: {finding["check"] for finding in ask("doctor")["findings"] if not finding["well"]}
    mark = bench.events.mark()
    plugged()
    bench.events.wait(r" add tty ttyUSB0 ", since=mark)
    # The emulated adapter begins with another latency than real ones, and the guest's kernel leaves it awake.
    bench.sh(
        "echo 16 >/sys/class/tty/ttyUSB0/device/latency_timer\n"
        "for f in /sys/bus/usb/devices/*/power/control; do echo auto >$f; done"
    )
    before = wrong()
    check({"latency", "autosuspend"} <= before, f"a usual adapter should need attention: {before}")
    done = ask("doctor --install")
    check(done["reloaded"] is True, f"{done}")
    adapter.unplug()
    mark = bench.events.mark()
    plugged()
    bench.events.wait(r" add tty ttyUSB0 ", since=mark)
    until("the rules have done their work", lambda: not wrong(), timeout=20)
    rows = bench.sh("cat /sys/class/tty/ttyUSB0/device/latency_timer /run/udev/data/c188:0")
    check(rows.startswith("1\n") and "ID_MM_PORT_IGNORE=1" in rows and "uaccess" in rows, rows)


# Name, scenario, whether udev runs in the guest, whether it is part of the short form.
SCENARIOS = [
    (ftdi, False, False),
    (ftdi_by_identity, False, False),
    (acm, False, True),
    (without_modem_lines, False, False),
    (modem_lines, False, True),
    (modem_lines_missing, False, True),
    (settings, False, False),
    (twins, False, True),
    (renumbered, False, True),
    (another_instrument, False, True),
    (same_serial_numbers, False, False),
    (ambiguous, False, False),
    (denied, False, False),
    (ordinary_user, True, True),
    (ordinary_user_acm, True, False),
    (held, True, False),
    (pedal, True, True),
    (doctor, True, True),
    (thirty_times, False, False),
    (thirty_times_acm, False, False),
    (thirty_times_as_a_user, True, False),
]


def main() -> int:
    failed = 0
    for scenario, udev, short in SCENARIOS:
        name = scenario.__name__.replace("_", "-")
        if LENGTH not in ("long", name) and not (LENGTH == "short" and short):
            continue
        began = time.monotonic()
        with tempfile.TemporaryDirectory(prefix="usb-") as work:
            try:
                with usbbench.Bench(
                    Path(work), sorted(PROGRAMS.iterdir()), overlay=None, udev=udev, accel="tcg", cpus=1, controller="xhci"
                ) as bench:
                    try:
                        scenario(bench)
                        say(f"PASS    {name} ({time.monotonic() - began:.0f} s)")
                    except usbbench.CheckFailed as error:
                        failed += 1
                        say(f"FAIL    {name}: {error}")
                        for channel in sorted(bench.channels):
                            for stamp, line in bench.channels[channel].lines[-15:]:
                                print(f"  {channel} {stamp:.3f} {line}", file=sys.stderr)
            except (usbbench.BenchError, subprocess.CalledProcessError, OSError) as error:
                print(f"the bench: {error}", file=sys.stderr)
                return 2
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
