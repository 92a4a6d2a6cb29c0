//! What is heard: the samples of each event and of each distance; and what becomes of the player.

use super::mixer::{Mixer, RATE};
use super::player::{NoPlayer, Player};
use protocol::screen::sound::{Beat, Event};
use std::collections::BTreeSet;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tokio::sync::mpsc;

/// Longer than anything here takes on a busy machine.
const DEADLINE: Duration = Duration::from_secs(30);

fn sounded(mixer: &mut Mixer, seconds: f64) -> Vec<i16> {
    let mut samples = vec![0; (seconds * f64::from(RATE)) as usize];
    mixer.fill(&mut samples);
    samples
}

fn event(event: Event) -> Vec<i16> {
    let mut mixer = Mixer::default();
    mixer.play(event.tones());
    sounded(&mut mixer, 1.0)
}

/// That of a tap of 300 µm.
fn before(to_go_um: f64) -> Beat {
    Beat::before(to_go_um, 300.0)
}

/// How often the level rises through zero, Hz over the time in which anything sounds.
fn pitch(samples: &[i16]) -> f64 {
    let rises = samples.windows(2).filter(|w| w[0] <= 0 && w[1] > 0);
    let rises = rises.count() as f64;
    let first = samples.iter().position(|s| *s != 0).unwrap();
    let last = samples.iter().rposition(|s| *s != 0).unwrap();
    rises * f64::from(RATE) / (last - first) as f64
}

/// The strength of a frequency (a single-bin Fourier sum; J. W. Goertzel, 1958, computes the same).
fn strength(samples: &[i16], hertz: f64) -> f64 {
    let (mut re, mut im) = (0.0, 0.0);
    for (i, sample) in samples.iter().enumerate() {
        let angle = std::f64::consts::TAU * hertz * i as f64 / f64::from(RATE);
        re += f64::from(*sample) * angle.cos();
        im += f64::from(*sample) * angle.sin();
    }
    re.hypot(im)
}

#[test]
fn every_event_has_its_own_sound() {
    let mut pitches = BTreeSet::new();
    for one in Event::ALL {
        let samples = event(one);
        assert!(samples.iter().any(|s| *s > 3_000), "{one:?} is heard");
        assert_eq!(samples.last(), Some(&0), "{one:?} ends");
        // From each other one it differs by a tone of its own.
        for other in Event::ALL.into_iter().filter(|other| *other != one) {
            let others = event(other);
            let differs = one
                .tones()
                .iter()
                .any(|tone| strength(&samples, tone.hertz) > 3.0 * strength(&others, tone.hertz));
            assert!(differs, "{one:?} and {other:?}");
        }
        pitches.insert(pitch(&samples).round() as i64 / 40);
    }
    assert_eq!(pitches.len(), Event::ALL.len(), "{pitches:?}");
}

#[test]
fn the_pitch_rises_toward_the_target() {
    let pitches: Vec<f64> = [300.0, 200.0, 100.0, 50.0, 20.0, 5.0, 1.0]
        .map(|to_go| {
            let mut mixer = Mixer::default();
            mixer.follow(Some(before(to_go)));
            pitch(&sounded(&mut mixer, 0.12))
        })
        .to_vec();
    assert!(pitches.windows(2).all(|w| w[1] > w[0] + 5.0), "{pitches:?}");
    let there = {
        let mut mixer = Mixer::default();
        mixer.follow(Some(Beat::there()));
        pitch(&sounded(&mut mixer, 0.5))
    };
    assert!(there > pitches[6], "{there}");
}

/// Stretches of sound with silence between.
fn stretches(samples: &[i16]) -> usize {
    let quiet = RATE as usize / 50;
    let loud: Vec<usize> = (0..samples.len()).filter(|i| samples[*i] != 0).collect();
    1 + loud.windows(2).filter(|w| w[1] - w[0] > quiet).count()
}

#[test]
fn the_rhythm_says_which_side() {
    let one_beat = |beat: Beat| {
        let seconds = beat.next_s;
        let mut mixer = Mixer::default();
        mixer.follow(Some(beat));
        let samples = sounded(&mut mixer, seconds);
        let sounding = samples.iter().filter(|s| **s != 0).count();
        (stretches(&samples), sounding as f64 / f64::from(RATE))
    };
    assert_eq!(one_beat(before(20.0)).0, 1);
    assert_eq!(one_beat(Beat::past(-20.0, 300.0)).0, 2);
    let (at, long_s) = one_beat(Beat::there());
    assert_eq!(at, 1);
    assert!(long_s > 0.4, "{long_s}");
    // Nothing to count is silent.
    assert!(sounded(&mut Mixer::default(), 1.0).iter().all(|s| *s == 0));
}

/// A program that plays, for a test: what stands in the script.
fn program(folder: &Path, name: &str, script: &str) {
    let file = folder.join(name);
    fs::write(&file, format!("#!/bin/sh\n{script}\n")).unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o755)).unwrap();
}

fn started(folder: &Path, mixer: &Arc<Mutex<Mixer>>) -> (Player, mpsc::Receiver<String>) {
    let (ended, reports) = mpsc::channel(4);
    let player = Player::start(folder.as_os_str(), Arc::clone(mixer), ended).unwrap();
    (player, reports)
}

fn until(what: &str, mut holds: impl FnMut() -> bool) {
    let end = Instant::now() + DEADLINE;
    while !holds() {
        assert!(Instant::now() < end, "no {what}");
        std::thread::yield_now();
    }
}

#[test]
fn without_a_player_it_says_which_package_has_one() {
    let folder = tempfile::tempdir().unwrap();
    let (ended, _reports) = mpsc::channel(1);
    let refused = Player::start(folder.path().as_os_str(), Arc::default(), ended);
    let Err(refused) = refused else {
        panic!("there is no player");
    };
    assert!(refused.to_string().contains("paplay"), "{refused}");
    assert!(NoPlayer::hint().contains("alsa-utils"));
}

#[test]
fn the_player_gets_the_samples_and_ends_with_the_sound() {
    let folder = tempfile::tempdir().unwrap();
    let [heard, id] = ["heard", "id"].map(|name| folder.path().join(name));
    let script = format!(
        "echo $$ > {}\nexec /bin/cat > {}",
        id.display(),
        heard.display()
    );
    program(folder.path(), "paplay", &script);
    let mixer = Arc::<Mutex<Mixer>>::default();
    let (player, mut reports) = started(folder.path(), &mixer);
    assert_eq!(player.name(), "paplay");
    mixer.lock().unwrap().play(Event::Marked.tones());
    until("sound", || {
        fs::read(&heard).is_ok_and(|bytes| bytes.iter().any(|b| *b != 0))
    });
    drop(player);
    let id = fs::read_to_string(id).unwrap();
    let process = Path::new("/proc").join(id.trim());
    assert!(!process.exists(), "it was waited for");
    assert!(
        reports.try_recv().is_err(),
        "an end that was wanted is no news"
    );
}

#[test]
fn a_player_that_ends_by_itself_is_replaced_and_the_last_one_is_reported_once() {
    let folder = tempfile::tempdir().unwrap();
    let second = folder.path().join("second");
    program(
        folder.path(),
        "pw-cat",
        "echo pw-cat: no daemon >&2; echo usage >&2; exit 1",
    );
    program(
        folder.path(),
        "aplay",
        &format!(
            "echo > {}; echo aplay: no device >&2; echo usage >&2; exit 1",
            second.display()
        ),
    );
    let (player, mut reports) = started(folder.path(), &Arc::default());
    assert_eq!(player.name(), "pw-cat");
    let mut report = None;
    until("report", || {
        report = reports.try_recv().ok();
        report.is_some()
    });
    assert_eq!(
        report.as_deref(),
        Some("`aplay` has ended: aplay: no device")
    );
    assert!(second.exists());
    // Its end closes the channel: no second report can come.
    assert!(reports.blocking_recv().is_none());
    drop(player);
}

/// It reads nothing and ends by nothing: leaving must not wait for it.
#[test]
fn a_player_that_hangs_is_ended() {
    let folder = tempfile::tempdir().unwrap();
    let id = folder.path().join("id");
    program(
        folder.path(),
        "aplay",
        &format!("echo $$ > {}\nexec /bin/sleep 600", id.display()),
    );
    let (player, _reports) = started(folder.path(), &Arc::default());
    until("player", || {
        fs::read_to_string(&id).is_ok_and(|id| id.ends_with('\n'))
    });
    drop(player);
    let id = fs::read_to_string(id).unwrap();
    assert!(!Path::new("/proc").join(id.trim()).exists());
}
