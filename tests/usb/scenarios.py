"""What a cable does when its adapter is plugged, pulled, swapped and renumbered, on the kernel's real drivers.

scenarios.py BENCH PROGRAM short|long|NAME

Exit status: 0 all passed, 1 one failed, 2 the bench cannot run here. `usb.sh` calls it.
"""

from __future__ import annotations

import importlib.util
import subprocess
import sys
import tempfile
import time
from pathlib import Path

BENCH, PROGRAM, LENGTH = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3]
spec = importlib.util.spec_from_file_location("usbbench", BENCH)
usbbench = importlib.util.module_from_spec(spec)
sys.modules["usbbench"] = usbbench
spec.loader.exec_module(usbbench)
check, say = usbbench.check, usbbench.say

# Back by itself within this, from the plug on (s). The plug itself takes the kernel about 0.4 s, and the guest is
# an emulated processor.
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


def open_again(program, device, place: int) -> float:
    """Plugs, and waits until the port is open; how long that took."""
    mark = program.output.mark()
    asked = device.plug()
    opened = program.wait(rf"^{place} state (quiet|live)", since=mark)
    told = [line for line in program.output.since(mark) if line.startswith(f"{place} state")]
    check(not any("denied" in line or "busy" in line for line in told), f"a refusal was shown: {told}")
    return opened - asked


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
    slowest = 0.0
    for turn in range(turns):
        slowest = max(slowest, open_again(program, adapter, 0))
        stream(program, adapter, 0, 100 * turn)
        pull(program, adapter, 0)
    check(slowest < BACK, f"the slowest of {turns} plugs took {slowest:.2f} s")
    say(f"        {turns} cycles, open within {slowest:.2f} s of the plug")


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


def ordinary_user(bench) -> None:
    cycle(bench, "ftdi", 4, "0403:6001", user=usbbench.USER)


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


# Name, scenario, whether udev runs in the guest, whether it is part of the short form.
SCENARIOS = [
    (ftdi, False, False),
    (ftdi_by_identity, False, True),
    (acm, False, True),
    (without_modem_lines, False, False),
    (settings, False, False),
    (twins, False, True),
    (same_serial_numbers, False, False),
    (ambiguous, False, False),
    (denied, False, False),
    (ordinary_user, True, True),
    (held, True, False),
    (thirty_times, False, False),
]


def main() -> int:
    failed = 0
    for scenario, udev, short in SCENARIOS:
        name = scenario.__name__.replace("_", "-")
        if LENGTH not in ("long", name) and not (LENGTH == "short" and short):
            continue
        with tempfile.TemporaryDirectory(prefix="usb-") as work:
            try:
                with usbbench.Bench(
                    Path(work), [PROGRAM], overlay=None, udev=udev, accel="tcg", cpus=1, controller="xhci"
                ) as bench:
                    try:
                        scenario(bench)
                        say(f"PASS    {name}")
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
