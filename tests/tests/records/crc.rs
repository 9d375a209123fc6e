//! The check word against its definition: division by the polynomial, one bit after the other.

use ohmwarden_core::block::crc32;

/// The definition of CRC-32/ISO-HDLC, least significant bit first.
fn by_definition(bytes: &[u8]) -> u32 {
    let mut crc = u32::MAX;
    for byte in bytes {
        for bit in 0..8 {
            let one = (crc ^ u32::from(byte >> bit)) & 1 == 1;
            crc = crc >> 1 ^ if one { 0x04C1_1DB7_u32.reverse_bits() } else { 0 };
        }
    }
    !crc
}

#[test]
fn the_check_word_is_that_of_the_catalogue_and_of_the_definition() {
    assert_eq!(by_definition(b"123456789"), 0xCBF4_3926, "the catalogue's check value");
    let bytes: Vec<u8> = (0..=255).rev().chain(0..=255).collect();
    for length in 0..bytes.len() {
        assert_eq!(crc32(&bytes[..length]), by_definition(&bytes[..length]), "{length} bytes");
    }
}
