//! Small recordings of our own in every layout; the published ones are read by `tests/outside`.

use super::{Config, read_single, recording};

const HEAD: &str = "Station,rec,1999\r\n3,2A,1D\r\n\
    1,UA,A,,V,0.5,1.0,0,-32767,32767,1,1,P\r\n2,IA,A,,A,0.1,0,0,-32767,32767,1,1,S\r\n\
    1,trip,,,0\r\n50\r\n1\r\n1000,3\r\n01/01/2020,00:00:00.0\r\n01/01/2020,00:00:00.0\r\n";

fn config(format: &str) -> Config {
    Config::parse(&format!("{HEAD}{format}\r\n1\r\n"), 1).unwrap()
}

/// Three records of raw values, each made by `field`.
fn binary(field: impl Fn(i16) -> Vec<u8>) -> Vec<u8> {
    let mut bytes = Vec::new();
    for (number, values) in [(1_u32, [2, -10]), (2, [-4, 20]), (3, [6, 30])] {
        bytes.extend(number.to_le_bytes());
        bytes.extend((number * 1_000).to_le_bytes());
        values.iter().for_each(|&value| bytes.extend(field(value)));
        bytes.extend([1, 0]);
    }
    bytes
}

#[test]
fn every_layout_gives_the_same_values() {
    let text = "1,1000,2,-10,1\r\n2,2000,-4,20,1\r\n3,3000,6,30,1\r\n".as_bytes().to_vec();
    for (format, bytes) in [
        ("ASCII", text),
        ("binary", binary(|value| value.to_le_bytes().to_vec())),
        ("BINARY32", binary(|value| i32::from(value).to_le_bytes().to_vec())),
        ("FLOAT32", binary(|value| f32::from(value).to_le_bytes().to_vec())),
    ] {
        let recording = recording(&config(format), &bytes, 1).unwrap();
        assert_eq!(recording.rate, 1_000.0);
        let [voltage, current] = &recording.channels[..] else { panic!("{recording:?}") };
        assert_eq!((voltage.name.as_str(), voltage.unit.as_str()), ("UA", "V"));
        assert_eq!(voltage.samples, [2.0, -1.0, 4.0], "{format}");
        assert_eq!(current.samples, [-1.0, 2.0, 3.0], "{format}");
        assert_eq!(voltage.codes.as_ref().unwrap().raw, [2, -4, 6], "{format}");
    }
}

#[test]
fn values_beyond_16_bits_are_kept_without_codes() {
    let bytes = binary(|value| (i32::from(value) * 100_000).to_le_bytes().to_vec());
    let recording = recording(&config("BINARY32"), &bytes, 1).unwrap();
    assert_eq!(recording.channels[0].samples, [100_001.0, -199_999.0, 300_001.0]);
    assert_eq!(recording.channels[0].codes, None);
}

#[test]
fn a_missing_sample_is_not_a_number() {
    let text = b"1,1000,99999,,0\n2,2000,1,2,0\n3,3000,1,2,0\n";
    let recording = recording(&config("ASCII"), text, 1).unwrap();
    assert!(recording.channels.iter().all(|channel| channel.samples[0].is_nan()));
    let mut bytes = binary(|value| value.to_le_bytes().to_vec());
    bytes[8..10].copy_from_slice(&i16::MIN.to_le_bytes());
    let recording = super::recording(&config("BINARY"), &bytes, 1).unwrap();
    assert!(recording.channels[0].samples[0].is_nan());
    assert!(!recording.channels[1].samples[0].is_nan());
}

#[test]
fn without_a_rate_the_time_stamps_tell() {
    let text = HEAD.replace("\n1\r\n1000,3", "\n0\r\n0,3") + "ASCII\n2\n";
    let config = Config::parse(&text, 1).unwrap();
    let even = b"1,0,2,-10,1\n2,100,-4,20,1\n3,200,6,30,1\n";
    assert_eq!(recording(&config, even, 1).unwrap().rate, 5_000.0);
    let uneven = b"1,0,2,-10,1\n2,100,-4,20,1\n3,250,6,30,1\n";
    let problem = recording(&config, uneven, 1).unwrap_err().to_string();
    assert!(problem.contains("uneven time stamps"), "{problem}");
}

#[test]
fn one_file_holds_all_parts_even_where_data_looks_like_a_head() {
    let mut data = binary(|value| value.to_le_bytes().to_vec());
    // Within the status word and the number of the next record: passed over, never a head.
    data[12..14].copy_from_slice(b"--");
    let mut file = format!("--- file type: CFG ---\r\n{HEAD}BINARY\r\n1\r\n").into_bytes();
    file.extend(b"--- file type: INF ---\r\n\r\n--- file type: DAT BINARY: 42 ---\r\n");
    file.extend(&data);
    assert_eq!(data.len(), 42);
    let recording = read_single(&file).unwrap();
    assert_eq!(recording.channels[1].samples, [-1.0, 2.0, 3.0]);
    let cut = read_single(&file[..file.len() - 1]).unwrap_err().to_string();
    assert!(cut.contains("41 bytes of data of 42"), "{cut}");
    let text = format!(
        "--- file type: CFG ---\n{HEAD}ASCII\n1\n--- FILE TYPE: dat ASCII ---\n1,0,1,1,0\n2,1,x,1,0\n"
    );
    let problem = read_single(text.as_bytes()).unwrap_err().in_file("f".as_ref()).to_string();
    assert!(problem.starts_with("f:16:5: found `x`"), "{problem}");
}

#[test]
fn the_oldest_revision_has_shorter_lines() {
    let text = "Station,rec\n1,1A,0D\n1,U,,,V,1,0,0,-2048,2047\n50\n1\n100,2\nd,t\nd,t\nASCII\n";
    let config = Config::parse(text, 1).unwrap();
    let recording = recording(&config, b"1,0,5\n2,10000,2047\n", 1).unwrap();
    assert_eq!(recording.channels[0].samples, [5.0, 2_047.0]);
    assert_eq!(recording.channels[0].codes.as_ref().unwrap().clip, (-2_048, 2_047));
    assert!(recording.kind.contains("1991"));
}

#[test]
fn mistakes_in_the_configuration_are_pointed_at() {
    for (from, to, problem) in [
        ("1999", "2050", "f:1:13: found `2050`; accepted is revision 1991, 1999 or 2013"),
        ("3,2A", "4,2A", "f:2:1: found `4`; accepted is the sum"),
        ("3,2A", "3,2", "f:2:3: found `2`; accepted is a number of channels with the letter A"),
        ("0.5,1.0", "half,1.0", "f:3:11: found `half`; accepted is the factor a"),
        ("0.5,1.0", "0,1.0", "f:3:11: found `0`; accepted is a factor a that is not 0"),
        ("\n1\r\n1000,3", "\n2\r\n1000,3", "f:7:1: found `2`; accepted is one sampling rate"),
        ("1000,3", "-1,3", "f:8:1: found `-1`; accepted is a rate above 0"),
        ("1000,3", "1000,x", "f:8:6: found `x`"),
        ("ASCII", "EBCDIC", "f:11:1: found `EBCDIC`; accepted is ASCII, BINARY"),
    ] {
        let text = format!("{HEAD}ASCII\r\n").replace(from, to);
        let found = Config::parse(&text, 1).unwrap_err().in_file("f".as_ref()).to_string();
        assert!(found.starts_with(problem), "{found}");
    }
    let cut = Config::parse("Station,rec,1999\n3,2A,1D\n", 1).unwrap_err().to_string();
    assert!(cut.contains("the end of the configuration"), "{cut}");
}

#[test]
fn data_shorter_than_the_configuration_says_is_refused() {
    for (format, bytes) in [("ASCII", &b"1,0,1,1,0\n"[..]), ("BINARY", &[0; 20]), ("ASCII", b"")] {
        let problem = recording(&config(format), bytes, 1).unwrap_err().to_string();
        assert!(problem.contains("samples; accepted is 3"), "{problem}");
    }
}
