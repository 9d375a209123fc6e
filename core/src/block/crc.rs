//! The check word: the 32-bit cyclic redundancy check that the catalogue calls CRC-32/ISO-HDLC.
//!
//! Polynomial 0x04C11DB7, bits reflected, begun with and ended by exclusive or with 0xFFFFFFFF;
//! over the nine digits "123456789" it is 0xCBF43926 (the "check" column of G. Cook's Catalogue of
//! parametrised CRC algorithms, commonly cited; secondary, ISO/IEC 13239 was not read). It finds
//! every burst of up to 32 bits. Half a byte at a time: 64 bytes of table.

/// The remainders of the sixteen half bytes, worked out by the compiler.
const HALVES: [u32; 16] = {
    let mut table = [0; 16];
    let mut rest: &mut [u32] = &mut table;
    let mut half: u32 = 0;
    while let [place, after @ ..] = rest {
        let mut remainder = half;
        let mut bit = 0_u8;
        while bit < 4 {
            let reflected = if remainder & 1 == 0 { 0 } else { 0xEDB8_8320 };
            remainder = remainder >> 1 ^ reflected;
            bit = bit.wrapping_add(1);
        }
        *place = remainder;
        rest = after;
        half = half.wrapping_add(1);
    }
    table
};

/// Gives the check word of some bytes.
///
/// ```
/// assert_eq!(ohmwarden_core::block::crc32(b"123456789"), 0xCBF4_3926);
/// ```
#[must_use]
pub fn crc32(bytes: &[u8]) -> u32 {
    let mut crc = u32::MAX;
    for byte in bytes {
        crc ^= u32::from(*byte);
        for _ in 0..2 {
            let [low, ..] = crc.to_le_bytes();
            let half = HALVES.get(usize::from(low & 15)).copied().unwrap_or(0);
            crc = crc >> 4 ^ half;
        }
    }
    !crc
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_check_value_of_the_catalogue_comes_out() {
        assert_eq!(crc32(b"123456789"), 0xCBF4_3926);
        assert_eq!(crc32(b""), 0);
    }
}
