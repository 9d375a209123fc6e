//! Frames against another implementation of the byte stuffing, and on a line that loses bytes.

use ohmwarden_core::block::wire::{Receiver, frame, longest, unstuff};
use ohmwarden_core::block::{Damage, Kind, LONGEST, seal};
use ohmwarden_core::record::Record;
use proptest::prelude::*;

use crate::any;

/// Bytes with runs of every length, and zeros that stand alone and together.
fn bytes() -> impl Strategy<Value = Vec<u8>> {
    let run = prop_oneof![1..300_usize, 252..257_usize];
    prop::collection::vec((run, 0_usize..3), 0..4).prop_map(|runs| {
        let piece = |(run, zeros): (usize, usize)| {
            (1..=255_u8).cycle().take(run).chain(core::iter::repeat_n(0, zeros))
        };
        runs.into_iter().flat_map(piece).take(LONGEST).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 2_000, ..ProptestConfig::default() })]

    #[test]
    fn the_other_implementation_reads_what_we_stuff_and_we_what_it_stuffs(bytes in bytes()) {
        let mut place = vec![0; longest(bytes.len())];
        let ours = frame(&bytes, &mut place).expect("it is as long as is promised");
        prop_assert_eq!((ours[0], ours[ours.len() - 1]), (0, 0));
        let between = &ours[1..ours.len() - 1];
        prop_assert!(!between.contains(&0));
        let mut read = vec![0; between.len()];
        let length = cobs::decode(between, &mut read).unwrap().frame_size();
        prop_assert_eq!(&read[..length], &bytes[..]);

        let mut theirs = vec![0; cobs::max_encoding_length(bytes.len())];
        let length = cobs::encode(&bytes, &mut theirs);
        prop_assert_eq!(unstuff(&mut theirs[..length]), Ok(&bytes[..]));
    }

    #[test]
    fn whatever_comes_over_the_line_is_no_panic(noise in prop::collection::vec(any::<u8>(), 0..600)) {
        let mut receiver = Receiver::<64>::new();
        for byte in noise {
            receiver.take(byte, |found| assert!(found.is_err()));
        }
    }

    /// Any bytes lost, added or turned in one frame: those before and after come out whole.
    #[test]
    fn one_damaged_frame_takes_no_other_with_it(
        records in prop::collection::vec(any::record(), 3),
        at in 0.0..1.0_f64,
        lost in 0..20_usize,
        noise in prop::collection::vec(any::<u8>(), 0..20),
    ) {
        let mut place = [0; longest(Record::LENGTH)];
        let mut frames: Vec<Vec<u8>> = records
            .iter()
            .map(|record| frame(&record.to_bytes(), &mut place).unwrap().to_vec())
            .collect();
        let inside = 1 + (at * (frames[1].len() - 2) as f64) as usize;
        let to = (inside + lost).min(frames[1].len() - 1);
        frames[1].splice(inside..to, noise);
        let mut receiver = Receiver::<{ longest(Record::LENGTH) }>::new();
        let mut whole = Vec::new();
        for byte in frames.concat() {
            receiver.take(byte, |found| whole.extend(found.ok().map(|block| block.serial)));
        }
        prop_assert_eq!(whole.first(), Some(&records[0].serial()));
        prop_assert_eq!(whole.last(), Some(&records[2].serial()));
        prop_assert!(whole.iter().all(|one| records.iter().any(|record| record.serial() == *one)));
    }
}

#[test]
fn the_examples_of_the_definition_come_out() {
    // As the definition of the stuffing gives them (commonly cited; secondary).
    for (bytes, stuffed) in [
        (&[][..], &[0x01][..]),
        (&[0x00], &[0x01, 0x01]),
        (&[0x00, 0x00], &[0x01, 0x01, 0x01]),
        (&[0x11, 0x22, 0x00, 0x33], &[0x03, 0x11, 0x22, 0x02, 0x33]),
        (&[0x11, 0x00, 0x00, 0x00], &[0x02, 0x11, 0x01, 0x01, 0x01]),
    ] {
        let ours = frame(bytes, &mut [0; 16]).map(<[u8]>::to_vec).unwrap();
        assert_eq!(ours[1..ours.len() - 1], *stuffed);
        assert_eq!(unstuff(&mut stuffed.to_vec()), Ok(bytes));
    }
}

#[test]
fn a_noisy_line_loses_the_damaged_frames_alone() {
    let mut place = [0; 64];
    let block = seal(Kind::Kept, 1, 9, &[0, 1, 0], &mut place).unwrap();
    let good = frame(block, &mut [0; 64]).unwrap().to_vec();
    let mut broken = good.clone();
    broken[5] ^= 0x40;
    let line = [&[0x55, 0xAA][..], &good, &broken, &good, &good[..9], &good].concat();
    let mut receiver = Receiver::<64>::new();
    let (mut whole, mut damaged) = (0, 0);
    for byte in line {
        receiver.take(byte, |found| match found {
            Ok(found) => {
                assert_eq!((found.serial, found.body), (9, &[0, 1, 0][..]));
                whole += 1;
            }
            Err(_) => damaged += 1,
        });
    }
    assert_eq!((whole, damaged), (3, 3), "the noise, the broken one and the one cut short");
}

#[test]
fn a_frame_longer_than_the_place_is_told_and_left_behind() {
    let mut receiver = Receiver::<8>::new();
    let mut told = Vec::new();
    for byte in [7; 20].into_iter().chain([0, 2, 3, 0]) {
        receiver.take(byte, |found| told.push(found.map(|_| ())));
    }
    assert_eq!(told, [Err(Damage::Length), Err(Damage::Length)]);
}
