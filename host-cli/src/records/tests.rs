//! Any damage is told where it is, and nothing comes out that was not written.

use std::fs;
use std::path::Path;

use ohmwarden_core::record::Record;

use super::*;

fn file(name: &str) -> Vec<u8> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/records");
    fs::read(folder.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn records(found: &Findings) -> Vec<&Record> {
    found.records.iter().map(|(_, record)| record).collect()
}

/// Numbers drawn by chance, always the same (xorshift).
fn chance() -> impl FnMut(usize) -> usize {
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    move |below| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 20) as usize % below
    }
}

#[test]
fn what_a_file_is_shows_by_itself() {
    let what = |name| decode(&file(name), None).unwrap().what;
    assert_eq!(what("image.bin"), What::Image);
    assert_eq!(what("image_damaged.bin"), What::Image);
    assert_eq!(what("stream_with_noise.bin"), What::Stream);
}

#[test]
fn every_turned_bit_of_an_image_is_told_at_its_place_or_changes_nothing() {
    let image = file("image.bin");
    let clean = decode(&image, None).unwrap();
    let (mut told, mut silent) = (0, 0);
    for bit in (0..image.len() * 8).step_by(13) {
        let mut bytes = image.clone();
        bytes[bit / 8] ^= 1 << (bit % 8);
        let found = find::in_image(&bytes);
        let at = bit / 8;
        if found.damaged.is_empty() {
            assert_eq!(records(&found), records(&clean), "byte {at}");
            assert_eq!((found.kept, found.others), (clean.kept, clean.others.clone()));
            silent += 1;
        } else {
            let holds = |part: &find::Part| (part.offset..part.offset + part.length).contains(&at);
            assert!(found.damaged.iter().any(holds), "byte {at}: {:?}", found.damaged);
            assert!(records(&found).iter().all(|one| records(&clean).contains(one)), "byte {at}");
            told += 1;
        }
    }
    println!("{told} turned bits told, {silent} in headers and marks that no block needs");
    assert!(told > 9 * silent);
}

#[test]
fn no_rubbish_is_read_as_a_record_and_none_is_a_panic() {
    let mut any = chance();
    for name in ["image.bin", "stream_with_noise.bin"] {
        let whole = file(name);
        let clean = decode(&whole, None).unwrap();
        for _ in 0..300 {
            let mut bytes = whole.clone();
            for _ in 0..=any(60) {
                let at = any(bytes.len());
                match any(4) {
                    0 => bytes[at] = any(256) as u8,
                    1 => bytes.insert(at, any(256) as u8),
                    2 => drop(bytes.drain(at..(at + any(40)).min(whole.len() / 2).max(at))),
                    _ => bytes[at] ^= 1 << any(8),
                }
            }
            for found in [find::in_image(&bytes), find::in_stream(&bytes)] {
                assert!(records(&found).iter().all(|one| records(&clean).contains(one)));
                let end = |part: &find::Part| part.offset + part.length <= bytes.len();
                assert!(found.damaged.iter().all(end));
            }
        }
    }
}

#[test]
fn a_blank_flash_holds_nothing_and_nothing_is_damaged() {
    let found = decode(&[0xFF; 4096], None).unwrap();
    assert_eq!((found.whole(), found.damaged.len()), (0, 0));
}
