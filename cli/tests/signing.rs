//! Signed records, as whole processes: making a key, signing, knowing another shop's key, and what an impostor meets.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]

mod home;

use home::Home;
use serde_json::Value;
use std::fs::{self, Permissions};
use std::os::unix::fs::PermissionsExt;
use std::path::PathBuf;

/// A home with a closed session.
fn with_session() -> Home {
    let home = Home::new();
    let setup = "--taper 1:12 --length 30 --tolerance 5arcsec --span 80 --resolution 0.0001";
    let setup: Vec<&str> = setup.split(' ').collect();
    home.done(&[&["session", "open", "spindle 7"][..], &setup].concat());
    home.done(&["step", "zero"]);
    for (station, value) in [("A", "0"), ("B", "0.0003"), ("A", "0")] {
        home.json(&["mark", station, "--value", value]);
    }
    home.done(&["session", "close"]);
    home
}

fn keys(home: &Home) -> PathBuf {
    home.path().join(".config/conewright/keys")
}

/// The only file in the directory of known keys.
fn public_file(home: &Home) -> PathBuf {
    let mut files = fs::read_dir(keys(home).join("known")).expect("it is there");
    let file = files.next().expect("a key").expect("a file").path();
    assert!(files.next().is_none(), "one key only");
    file
}

fn set_mode(path: &std::path::Path, mode: u32) {
    fs::set_permissions(path, Permissions::from_mode(mode)).expect("it is the test's own");
}

/// What a verb that fails says, and how it exits.
fn refused(home: &Home, args: &[&str]) -> (String, i32) {
    let out = home.run(args);
    let told = String::from_utf8_lossy(&out.stderr).into_owned();
    (told, out.status.code().expect("it exits by itself"))
}

#[test]
fn a_record_is_signed_when_asked_and_verify_says_by_whom() {
    let home = with_session();
    let (told, code) = refused(&home, &["export", "--to", "seat.json", "--sign"]);
    assert_eq!(code, 1, "{told}");
    assert!(told.contains("there is no private key at"), "{told}");
    assert!(told.contains("conewright key make --name"), "{told}");
    assert!(!home.path().join("seat.json").exists());

    let (made, code) = home.json(&["key", "make", "--name", "Toolroom"]);
    assert_eq!(code, 0, "{made}");
    let fingerprint = made["fingerprint"].as_str().unwrap_or_default().to_owned();
    assert_eq!(fingerprint.len(), 39, "{fingerprint}");
    let private = keys(&home).join("private.json");
    let mode = |path| {
        fs::metadata(path)
            .expect("it is there")
            .permissions()
            .mode()
            & 0o777
    };
    assert_eq!(mode(private.clone()), 0o600);
    assert_eq!(mode(keys(&home)), 0o700);
    let (told, code) = refused(&home, &["key", "make", "--name", "Other"]);
    assert_eq!(code, 1);
    assert!(told.contains("there is a private key already"), "{told}");
    assert!(home.done(&["key", "list"]).contains(&fingerprint));

    // Off until asked for.
    home.done(&["export", "--to", "bare.json"]);
    let bare = fs::read_to_string(home.path().join("bare.json")).expect("it is there");
    assert!(!bare.contains("\"signature\""));
    assert_eq!(home.json(&["verify", "bare.json"]).0.get("signed"), None);
    let (told, code) = home.json(&["verify", "bare.json", "--signed"]);
    assert_eq!((told["agrees"].as_bool(), code), (Some(true), 3));

    home.done(&["export", "--to", "seat.json", "--sign"]);
    let told = home.done(&["verify", "seat.json", "--signed"]);
    let expected = format!("signed by Toolroom ({fingerprint}), key known");
    assert!(told.contains(&expected), "{told}");
    let (told, _) = home.json(&["verify", "seat.json"]);
    assert_eq!(told["signed"]["known"], true);
    assert_eq!(told["signed"]["known_as"], "Toolroom");
    // The bytes of the record before its signature are those without one.
    let text = fs::read_to_string(home.path().join("seat.json")).expect("it is there");
    let seal = bare.rfind("\"digest\"").expect("a seal");
    assert_eq!(text[..seal], bare[..seal]);
    let (exported, _) = home.json(&["export", "--to", "seat.json", "--sign"]);
    assert_eq!(exported["bytes"].as_u64(), Some(text.len() as u64));

    // The page says it too, and the table has no room for it.
    home.done(&["export", "--to", "seat.html", "--sign"]);
    let page = fs::read_to_string(home.path().join("seat.html")).expect("it is there");
    assert!(page.contains(&format!("Toolroom, key {fingerprint}")));
    home.done(&["export", "--to", "seat.pdf", "--sign"]);
    let paper = pdf_extract::extract_text(home.path().join("seat.pdf")).expect("it is a PDF");
    let dense = |text: &str| text.split_whitespace().collect::<String>();
    let expected = dense(&format!("Toolroom, key {fingerprint}"));
    assert!(dense(&paper).contains(&expected), "{paper}");
    let (told, code) = refused(&home, &["export", "--to", "seat.csv", "--sign"]);
    assert_eq!(code, 2, "{told}");
    assert!(
        told.contains("--sign is for a .json, .html or .pdf"),
        "{told}"
    );
    let (told, code) = refused(
        &home,
        &[
            "verify",
            "--signed",
            ".local/share/conewright/conewright.db",
        ],
    );
    assert_eq!(code, 2, "{told}");
}

#[test]
fn the_configuration_signs_every_export_from_an_archive_too() {
    let home = with_session();
    home.configure("[sign]\nalways = true\n");
    home.done(&["key", "make", "--name", "Toolroom"]);
    home.done(&["store", "archive", "1", "--to", "seats.db"]);
    for args in [
        &["export", "--to", "seat.json"][..],
        &["export", "1", "--from", "seats.db", "--to", "archived.json"],
    ] {
        home.done(args);
        let file = args[args.len() - 1];
        assert!(
            home.done(&["verify", file, "--signed"])
                .contains("key known"),
            "{file}"
        );
    }
    home.done(&["export", "--to", "seat.json", "--unsigned"]);
    assert_eq!(home.json(&["verify", "seat.json", "--signed"]).1, 3);
    home.done(&["export", "--to", "seat.csv"]);
    // A key that cannot be used stops the export: an unsigned record is not what was asked for.
    set_mode(&keys(&home).join("private.json"), 0o640);
    let (told, code) = refused(&home, &["export", "--to", "other.json"]);
    assert_eq!(code, 1);
    assert!(told.contains("its mode is 0640"), "{told}");
    assert!(told.contains("chmod 600"), "{told}");
    assert!(!home.path().join("other.json").exists());
}

#[test]
fn another_shop_is_known_when_its_key_is_and_an_impostor_is_not() {
    let shop = with_session();
    shop.done(&["key", "make", "--name", "Toolroom"]);
    shop.done(&["export", "--to", "seat.json", "--sign"]);
    let record = fs::read_to_string(shop.path().join("seat.json")).expect("it is there");

    let customer = Home::new();
    customer.write("seat.json", &record);
    let (told, code) = customer.json(&["verify", "seat.json"]);
    assert_eq!(
        (told["signed"]["known"].as_bool(), code),
        (Some(false), 0),
        "{told}"
    );
    assert_eq!(customer.json(&["verify", "seat.json", "--signed"]).1, 3);
    let out = customer.run(&["verify", "seat.json"]);
    assert!(String::from_utf8_lossy(&out.stdout).contains("key unknown"));
    assert!(String::from_utf8_lossy(&out.stderr).contains("conewright key trust FILE"));

    let public = public_file(&shop);
    let public = public.to_str().expect("a plain path");
    assert!(
        customer
            .done(&["key", "trust", public])
            .contains("is known from now on")
    );
    assert!(
        customer
            .done(&["key", "trust", public])
            .contains("was known before")
    );
    assert!(
        customer
            .done(&["verify", "seat.json", "--signed"])
            .contains("key known")
    );

    // Somebody else signs in the same name, or in one that looks like it.
    for name in ["Toolroom", "Tool Room", "TOOLROOM."] {
        let impostor = with_session();
        impostor.done(&["key", "make", "--name", name]);
        impostor.done(&["export", "--to", "seat.json", "--sign"]);
        let forged = fs::read_to_string(impostor.path().join("seat.json")).expect("it is there");
        customer.write("forged.json", &forged);
        let (told, code) = customer.json(&["verify", "forged.json"]);
        assert_eq!(
            (told["agrees"].as_bool(), code),
            (Some(false), 3),
            "{name}: {told}"
        );
        assert_eq!(told["place"], "signature");
        let public = public_file(&impostor);
        let (told, code) = refused(
            &customer,
            &["key", "trust", public.to_str().expect("plain")],
        );
        assert_eq!(code, 1);
        assert!(
            told.contains("another key is known already as Toolroom"),
            "{told}"
        );
    }

    // The same key in another name: its owner's word against the customer's.
    let mut private: Value = serde_json::from_str(
        &fs::read_to_string(keys(&shop).join("private.json")).expect("it is there"),
    )
    .expect("JSON");
    private["name"] = "Night shift".into();
    fs::write(keys(&shop).join("private.json"), private.to_string()).expect("it is written");
    shop.done(&["export", "--to", "night.json", "--sign"]);
    customer.write(
        "night.json",
        &fs::read_to_string(shop.path().join("night.json")).expect("there"),
    );
    let told = customer.done(&["verify", "night.json", "--signed"]);
    assert!(told.contains("signed by Night shift"), "{told}");
    assert!(told.contains("key known as Toolroom"), "{told}");

    // Changed behind the seal, and before it.
    let at = record.rfind("\"signature\": \"").expect("a signature") + "\"signature\": \"".len();
    let mut changed = record.clone().into_bytes();
    changed[at] = if changed[at] == b'0' { b'1' } else { b'0' };
    customer.write("changed.json", &String::from_utf8(changed).expect("UTF-8"));
    let (told, code) = customer.json(&["verify", "changed.json"]);
    assert_eq!(
        (told["place"].as_str(), code),
        (Some("signature"), 3),
        "{told}"
    );
    customer.write(
        "changed.json",
        &record.replacen("spindle 7", "spindle 8", 1),
    );
    let (told, code) = customer.json(&["verify", "changed.json"]);
    assert_eq!(
        (told["place"].as_str(), code),
        (Some("digest"), 3),
        "{told}"
    );
}

#[test]
fn keys_that_others_could_have_put_there_are_not_believed() {
    let home = with_session();
    home.done(&["key", "make", "--name", "Toolroom"]);
    home.done(&["export", "--to", "seat.json", "--sign"]);
    let known = keys(&home).join("known");
    let file = public_file(&home);
    for (path, open, closed) in [(&known, 0o777, 0o700), (&file, 0o666, 0o644)] {
        set_mode(path, open);
        let (told, code) = refused(&home, &["verify", "seat.json"]);
        assert_eq!(code, 1, "{told}");
        assert!(told.contains("other users may write to"), "{told}");
        assert!(told.contains("chmod go-w"), "{told}");
        // A record that nobody signed needs no keys.
        home.done(&["export", "--to", "bare.json"]);
        home.done(&["verify", "bare.json"]);
        set_mode(path, closed);
    }
    home.done(&["verify", "seat.json", "--signed"]);
    for (content, expected) in [
        ("{", "is not a public key of this program"),
        (
            "{\"name\": \"T\", \"public\": \"ed25519:00\"}",
            "a key is written as `ed25519:`",
        ),
        (
            "{\"name\": \"T\\u001b[0m\", \"public\": \"\"}",
            "is not a public key of this program: a name has",
        ),
    ] {
        home.write("other.json", content);
        let (told, _) = refused(&home, &["key", "trust", "other.json"]);
        assert!(told.contains(expected), "{content}: {told}");
        fs::write(known.join("other.json"), content).expect("it is written");
        let (told, code) = refused(&home, &["verify", "seat.json"]);
        assert_eq!(code, 1, "{told}");
        assert!(told.contains(expected), "{content}: {told}");
        fs::remove_file(known.join("other.json")).expect("it was there");
    }
    // The private file is not for handing out.
    let private = keys(&home).join("private.json");
    let (told, _) = refused(&home, &["key", "trust", private.to_str().expect("plain")]);
    assert!(told.contains("missing field `public`"), "{told}");
    let (told, code) = refused(&Home::new(), &["key", "make", "--name", ""]);
    assert_eq!(code, 2, "{told}");
}
