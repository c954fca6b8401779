//! Signatures under releases: what is said of one here is what `ssh-keygen -Y verify` says of it.

use std::path::Path as RealPath;
use std::process::{Command, Stdio};

use ed25519_dalek::{Signer, SigningKey};
use sha2::{Digest, Sha256};
use ssh_key::private::Ed25519Keypair;
use ssh_key::public::{Ed25519PublicKey, KeyData, SkEd25519};
use ssh_key::{Algorithm, HashAlg, LineEnding, PrivateKey, PublicKey, Signature, SshSig};

use crate::ledger::seal::{self, NAMESPACE, Sealing, SignatureError, SoundSignature};
use crate::ledger::{Body, Ledger, TextFile};
use crate::quantity::Moment;
use crate::world::Path;

const MACHINE: &str =
    "machine \"slide\" { title \"Slide of the \\u{e4}lder slip\"; axis X { run to=600; rail a { segment 600 } } }";

/// Numbers that are the same on every run (xorshift, G. Marsaglia 2003).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, end: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % end as u64).expect("below the end")
    }

    fn seed(&mut self) -> [u8; 32] {
        std::array::from_fn(|_| u8::try_from(self.below(256)).expect("a byte"))
    }

    fn of<T: Copy>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())]
    }
}

/// A key, in a file or as a security key holds one.
struct Key {
    seed: [u8; 32],
    hardware: bool,
}

impl Key {
    fn public(&self) -> KeyData {
        let own = Ed25519PublicKey(SigningKey::from_bytes(&self.seed).verifying_key().to_bytes());
        if self.hardware { KeyData::SkEd25519(SkEd25519::new(own, "ssh:")) } else { KeyData::Ed25519(own) }
    }

    fn line(&self) -> String {
        PublicKey::from(self.public()).to_openssh().expect("a key")
    }

    fn private(&self) -> PrivateKey {
        PrivateKey::from(Ed25519Keypair::from_seed(&self.seed))
    }

    /// Signs as OpenSSH does; that of a security key by PROTOCOL.u2f, since there is no device: the hash of the application,
    /// flags, a counter and the hash of what is signed.
    fn sign(&self, text: &str, namespace: &str, hash: HashAlg, flags: u8, counter: u32) -> String {
        if !self.hardware {
            let sig = self.private().sign(namespace, hash, text.as_bytes()).expect("signed");
            return sig.to_pem(LineEnding::LF).expect("armoured");
        }
        let data = SshSig::signed_data(namespace, hash, text.as_bytes()).expect("data");
        let mut signed = Sha256::digest("ssh:").to_vec();
        signed.push(flags);
        signed.extend(counter.to_be_bytes());
        signed.extend(Sha256::digest(&data));
        let mut raw = SigningKey::from_bytes(&self.seed).sign(&signed).to_bytes().to_vec();
        raw.push(flags);
        raw.extend(counter.to_be_bytes());
        let signature = Signature::new(Algorithm::SkEd25519, raw).expect("a signature");
        let sig = SshSig::new(self.public(), namespace, hash, signature).expect("a signature");
        sig.to_pem(LineEnding::LF).expect("armoured")
    }
}

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// The bytes behind base64 (RFC 4648, section 4).
fn decoded(text: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    let (mut held, mut bits) = (0_u32, 0);
    for letter in text.bytes().filter(|letter| *letter != b'=') {
        let value = LETTERS.iter().position(|own| *own == letter).expect("base64");
        held = held << 6 | u32::try_from(value).expect("small");
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            bytes.push(u8::try_from(held >> bits & 255).expect("a byte"));
        }
    }
    bytes
}

fn encoded(bytes: &[u8]) -> String {
    let mut text = String::new();
    for three in bytes.chunks(3) {
        let number = three.iter().enumerate().fold(0_u32, |sum, (at, byte)| sum | u32::from(*byte) << (16 - 8 * at));
        for at in 0..4 {
            let letter = char::from(LETTERS[(number >> (18 - 6 * at) & 63) as usize]);
            text.push(if at <= three.len() { letter } else { '=' });
        }
    }
    text
}

/// The ledger with a release, as its text says.
fn ledger(shop: &str, release: &str) -> Ledger {
    let file = |name: &str, text: &str| TextFile::read(Path(name.into()), text.as_bytes().to_vec());
    let files = vec![file("m/machine.kdl", MACHINE), file("m/release.kdl", release)];
    Ledger::new(Path("m".into()), files, &[file("shop.kdl", shop)])
}

/// The text of the release and what is found of its signature.
fn checked(shop: &str, release: &str) -> (String, Option<Result<SoundSignature, SignatureError>>) {
    let ledger = ledger(shop, release);
    let text = seal::signed_text(&ledger, 0).expect("a release");
    match &ledger.records[0].body {
        Body::Release(body) => (text, seal::checked(&ledger, 0, body)),
        _ => unreachable!("the record is a release"),
    }
}

/// What is sealed before it is signed, as of noon.
fn sealing(note: &str) -> Sealing {
    let moment = Moment::read("2026-05-10T12:00").expect("a moment");
    Sealing { notes: vec![note.to_owned()], ..Sealing::new(moment, "engineer-1") }
}

fn has_keygen() -> bool {
    let there = Command::new("ssh-keygen").arg("-?").stderr(Stdio::null()).stdout(Stdio::null()).status().is_ok();
    #[allow(clippy::print_stderr, reason = "a test that is left out says so")]
    if !there {
        eprintln!("left out: there is no ssh-keygen here");
    }
    there
}

/// What `ssh-keygen -Y verify` says at noon of the day.
fn verified(folder: &RealPath, text: &str, armoured: &str, allowed: &str) -> bool {
    let put = |name: &str, text: &str| std::fs::write(folder.join(name), text).expect("written");
    put("allowed", allowed);
    put("sig", armoured);
    put("text", text);
    let status = Command::new("ssh-keygen")
        .args(["-Y", "verify", "-f", "allowed", "-I", "engineer-1", "-n", NAMESPACE, "-s", "sig"])
        .args(["-O", "verify-time=20260510120000"])
        .env("TZ", "UTC")
        .current_dir(folder)
        .stdin(std::fs::File::open(folder.join("text")).expect("there"))
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    status.expect("ssh-keygen runs").success()
}

/// Signs by `ssh-keygen`, from a key file.
fn signed_outside(folder: &RealPath, key: &Key, text: &str, namespace: &str, hash: HashAlg) -> String {
    let file = folder.join("key");
    std::fs::write(&file, key.private().to_openssh(LineEnding::LF).expect("a key").as_bytes()).expect("written");
    #[cfg(unix)]
    std::fs::set_permissions(&file, std::os::unix::fs::PermissionsExt::from_mode(0o600)).expect("private");
    std::fs::write(folder.join("signed"), text).expect("written");
    let _ = std::fs::remove_file(folder.join("signed.sig"));
    let hash = format!("hashalg={}", hash.as_str());
    let status = Command::new("ssh-keygen")
        .args(["-q", "-Y", "sign", "-n", namespace, "-O", &hash, "-f", "key", "signed"])
        .current_dir(folder)
        .stderr(Stdio::null())
        .status();
    assert!(status.expect("ssh-keygen runs").success());
    std::fs::read_to_string(folder.join("signed.sig")).expect("a signature")
}

/// What is done to a release and its signature before both are asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Sound,
    Text,
    Letter,
    Byte,
    Longer,
    Shorter,
    Reserved,
    OtherKey,
    OtherNamespace,
    NotYet,
    NoMore,
    Untouched,
}

const WAYS: [Way; 12] = [
    Way::Sound,
    Way::Text,
    Way::Letter,
    Way::Byte,
    Way::Longer,
    Way::Shorter,
    Way::Reserved,
    Way::OtherKey,
    Way::OtherNamespace,
    Way::NotYet,
    Way::NoMore,
    Way::Untouched,
];

/// One case; the verdict is given back.
fn agree(folder: &RealPath, numbers: &mut Numbers, way: Way) -> bool {
    let key = Key { seed: numbers.seed(), hardware: way == Way::Untouched || numbers.below(2) == 0 };
    let other = Key { seed: numbers.seed(), hardware: key.hardware };
    let hash = numbers.of(&[HashAlg::Sha256, HashAlg::Sha512]);
    let namespace =
        if way == Way::OtherNamespace { numbers.of(&["file", "git", "wayledger-releas"]) } else { NAMESPACE };
    let (from, until) = match way {
        Way::NotYet => ("2026-05-11", "2026-12-31"),
        Way::NoMore => ("2026-01-05", "2026-05-09"),
        _ => numbers.of(&[("2026-05-10", "2026-05-10"), ("2026-01-05", "2026-12-31")]),
    };
    let known = if way == Way::OtherKey { &other } else { &key };
    let mut of = sealing(numbers.of(&["looked at twice", "für den Kunden\n", "a\\b"]));
    let plain = ledger("", "");
    let draft = seal::release(&plain, 0, &of);
    let text = seal::text_to_sign(&draft);
    let armoured = if key.hardware || numbers.below(2) == 0 {
        // Bit 0 of the flags says that somebody touched the key.
        let flags = if way == Way::Untouched { 0 } else { numbers.of(&[1, 5]) };
        key.sign(&text, namespace, hash, flags, 7)
    } else {
        signed_outside(folder, &key, &text, namespace, hash)
    };
    let mut base64 = seal::lines_of(&armoured).expect("a signature").concat();
    let mut bytes = decoded(&base64);
    match way {
        Way::Letter => {
            let at = numbers.below(base64.trim_end_matches('=').len());
            base64.replace_range(at..=at, char::from(LETTERS[numbers.below(64)]).encode_utf8(&mut [0; 4]));
        }
        Way::Byte => {
            let at = numbers.below(bytes.len());
            bytes[at] ^= 1 << numbers.below(8);
            base64 = encoded(&bytes);
        }
        Way::Longer => {
            bytes.push(0);
            base64 = encoded(&bytes);
        }
        Way::Shorter => {
            bytes.truncate(bytes.len() - 1 - numbers.below(80));
            base64 = encoded(&bytes);
        }
        Way::Reserved => {
            // Magic, version, key, namespace; then the reserved field, which is empty.
            let mut at = 10;
            for _ in 0..2 {
                let length: [u8; 4] = bytes[at..at + 4].try_into().expect("four");
                at += 4 + u32::from_be_bytes(length) as usize;
            }
            bytes.splice(at..at + 4, [0, 0, 0, 2, b'a', b'b']);
            base64 = encoded(&bytes);
        }
        _ => {}
    }
    // Broken anywhere, as a person might who copies it.
    let width = numbers.of(&[70, 64, 7, 1000]);
    of.signature = Some(base64.as_bytes().chunks(width).map(|it| String::from_utf8_lossy(it).into_owned()).collect());
    let mut release = seal::release(&plain, 0, &of).text();
    if way == Way::Text {
        let (old, new) = numbers.of(&[
            ("T12:00", "T12:01"),
            ("edition=1", "edition=2"),
            ("note ", "note a"),
            ("fact name slide", "fact name slides"),
            ("seal=", "seal=0"),
            ("by=engineer-1", "by=engineer-1 supersedes=\"2026-05-09\""),
        ]);
        let changed = release.replacen(old, new, 1).replacen("note a\"", "note \"a ", 1);
        assert_ne!(changed, release, "{old}");
        release = changed;
    }
    let shop = format!(
        "shop {{ person engineer-1 {{ key \"{} at the office\" from=\"{from}\" until=\"{until}\" }} }}",
        known.line()
    );
    let (now, own) = checked(&shop, &release);
    assert_eq!(now != text, way == Way::Text, "{release}\n{now}\n{text}");
    // The day after the last one at midnight ends it there.
    let end = Moment::read(until).expect("a date").date.tomorrow().expect("a day").to_string().replace('-', "");
    let allowed =
        format!("engineer-1 valid-after=\"{}\",valid-before=\"{end}\" {}\n", from.replace('-', ""), known.line());
    let armoured = seal::armour(of.signature.iter().flatten().map(String::as_str));
    let outside = verified(folder, &now, &armoured, &allowed);
    let own = own.expect("there is a signature");
    assert_eq!(own.is_ok(), outside, "{way:?}: {own:?}\n{release}\n{allowed}");
    match way {
        Way::Sound | Way::Reserved => assert!(own.is_ok(), "{way:?}: {own:?}"),
        Way::Text => assert_eq!(own, Err(SignatureError::Unfit)),
        Way::Longer | Way::Shorter => assert_eq!(own, Err(SignatureError::Unreadable), "{way:?}"),
        Way::OtherKey => assert!(matches!(own, Err(SignatureError::Stranger { .. })), "{own:?}"),
        Way::OtherNamespace => assert_eq!(own, Err(SignatureError::Namespace(namespace.into()))),
        Way::NotYet | Way::NoMore => assert!(matches!(own, Err(SignatureError::Outdated { .. })), "{own:?}"),
        Way::Letter | Way::Byte | Way::Untouched => {}
    }
    own.is_ok()
}

fn agree_on(cases: usize, seed: u64) {
    if !has_keygen() {
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let mut numbers = Numbers(seed);
    let sound = (0..cases).filter(|case| agree(folder.path(), &mut numbers, WAYS[case % WAYS.len()])).count();
    assert!((cases / 8..cases / 2).contains(&sound), "{sound} of {cases} are in order");
}

#[test]
fn forty_random_signatures_are_judged_as_ssh_keygen_does() {
    agree_on(40, 0x9e37_79b9_7f4a_7c15);
}

#[test]
#[ignore = "takes half a minute"]
fn a_thousand_random_signatures_are_judged_as_ssh_keygen_does() {
    agree_on(1000, 0xd1b5_4a32_d192_ed03);
}

#[test]
fn a_key_of_another_person_or_kind_is_told_as_such() {
    let key = Key { seed: [7; 32], hardware: false };
    let mut of = sealing("");
    let plain = ledger("", "");
    let text = seal::text_to_sign(&seal::release(&plain, 0, &of));
    let armoured = key.sign(&text, NAMESPACE, HashAlg::Sha512, 1, 1);
    of.signature = seal::lines_of(&armoured);
    let release = seal::release(&plain, 0, &of).text();
    let fingerprint = PublicKey::from(key.public()).fingerprint(HashAlg::Sha256).to_string();
    let told = |shop: &str| checked(shop, &release).1.expect("there is a signature");
    let shop = format!("shop {{ person engineer-1; person inspector-1 {{ key \"{}\" }} }}", key.line());
    let other = told(&shop).expect_err("it is another's");
    assert!(
        matches!(&other, SignatureError::Other { person, fingerprint: of, .. } if person == "inspector-1" && *of == fingerprint),
        "{other:?}"
    );
    let twice =
        format!("shop {{ person engineer-1 {{ key \"{0}\"; }}; person inspector-1 {{ key \"{0}\" }} }}", key.line());
    assert_eq!(told(&twice).map(|sound| sound.fingerprint), Ok(fingerprint));
    assert!(matches!(told("shop { person engineer-1 }"), Err(SignatureError::Stranger { .. })));
}

#[test]
fn the_text_that_is_signed_can_be_read() {
    let text = seal::text_to_sign(&seal::release(&ledger("", ""), 0, &sealing("für den Kunden\nby: fitter-2")));
    let lines: Vec<&str> = text.lines().collect();
    let (seal, rest) = lines.split_last().expect("lines");
    assert_eq!(
        rest,
        [
            "wayledger-release",
            "seal edition: 1",
            "machine: slide",
            "title: \"Slide of the \\u{e4}lder slip\"",
            "axis: X",
            "released: 2026-05-10T12:00",
            "by: engineer-1",
            "note: \"f\\u{fc}r den Kunden\\\\nby: fitter-2\"",
        ]
    );
    assert!(seal.starts_with("seal, SHA-256: ") && seal.len() == 15 + 64, "{seal}");
}
