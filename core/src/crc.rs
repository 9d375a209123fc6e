//! The check word of what is kept in memory: CRC-32 with the polynomial 0x04C11DB7, bits reflected.
//!
//! The parameters and the check value are those that ISO/IEC 8802-3 (Ethernet) and ITU-T V.42 are
//! commonly cited for (secondary source, not checked against the standards, no conformity claimed).
//! Bit by bit and without a table: it runs once at power-up.

/// The polynomial with its bits turned round.
const REFLECTED: u32 = 0xEDB8_8320;

/// Gives the check word of some bytes.
pub(crate) fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            (crc >> 1) ^ if crc & 1 == 0 { 0 } else { REFLECTED }
        })
    })
}

#[cfg(test)]
mod tests {
    use super::crc32;

    #[test]
    fn the_nine_digits_give_the_published_check_value() {
        assert_eq!(crc32(b"123456789"), 0xCBF4_3926);
        assert_eq!(crc32(b""), 0);
    }
}
