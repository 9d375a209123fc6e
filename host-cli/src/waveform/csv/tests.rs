//! Tables as people and programs write them, and where a mistake in one is pointed at.

use super::read;
use crate::waveform::Hints;

fn hints(rate: f64) -> Hints {
    Hints { rate: Some(rate), ..Hints::default() }
}

#[test]
fn names_units_and_rate_come_from_the_head_and_the_time() {
    let text = "# made by hand\ntime (ms),U [V],I/A\n0,1,2\n0.1,-3,4\n0.2,5,6\n";
    let recording = read(text, &Hints::default()).unwrap();
    assert!((recording.rate - 10_000.0).abs() < 1e-6);
    let [u, i] = &recording.channels[..] else { panic!("{recording:?}") };
    assert_eq!((u.name.as_str(), u.unit.as_str()), ("U", "V"));
    assert_eq!(u.samples, [1.0, -3.0, 5.0]);
    assert_eq!((i.name.as_str(), i.unit.as_str()), ("I", "A"));
}

#[test]
fn a_time_column_may_carry_its_unit_in_its_name() {
    for (head, rate) in [("time_s", 5.0), ("t_ms", 5_000.0), ("Time_us", 5.0e6)] {
        let recording = read(&format!("{head},volts\n0,1\n0.2,2\n"), &Hints::default()).unwrap();
        assert!((recording.rate / rate - 1.0).abs() < 1e-9, "{head}: {}", recording.rate);
        assert_eq!(recording.channels.len(), 1);
    }
    let told = read("time_of_day,volts\n0,1\n1,2\n", &Hints::default()).unwrap_err();
    assert!(told.to_string().contains("neither a column named"), "{told}");
}

#[test]
fn a_column_that_nobody_wants_need_not_hold_numbers() {
    let text = "time (s),state,U (V),I\n0,rest,1,\n0.5,drive,2,3\n";
    let only = |name: &str| Hints { only: vec![name.to_owned()], ..Hints::default() };
    let recording = read(text, &only("U")).unwrap();
    let [u] = &recording.channels[..] else { panic!("{recording:?}") };
    assert_eq!((u.name.as_str(), u.samples.as_slice()), ("U", &[1.0, 2.0][..]));
    assert_eq!(recording.rate, 2.0);
    for wanted in ["I", "nothing"] {
        let told = read(text, &only(wanted)).unwrap_err().in_file("f".as_ref()).to_string();
        assert!(told.starts_with("f:2:"), "{told}");
    }
}

#[test]
fn separators_and_decimal_commas_are_found() {
    for text in ["1.5,2\n3,4", "1,5;2\n3;4", "1,5\t2\n3\t4", "1.5  2\n3 4", "1.5;2\r\n3;4\r\n"] {
        let recording = read(text, &hints(50.0)).unwrap();
        let columns: Vec<_> = recording.channels.iter().map(|it| it.samples.clone()).collect();
        assert_eq!(columns, [vec![1.5, 3.0], vec![2.0, 4.0]], "{text:?}");
        assert_eq!(recording.channels[1].name, "column 2");
    }
}

#[test]
fn a_large_whole_moment_is_since_1970() {
    let recording = read("Time,U\n1735554592842,1\n1735554592862,2", &Hints::default()).unwrap();
    assert_eq!(recording.rate, 50.0);
}

#[test]
fn mistakes_are_pointed_at() {
    for (text, problem) in [
        ("", "no line of numbers"),
        ("U (V)\n", "no line of numbers"),
        ("1,2\n3,x\n", ":2:3: found `x`"),
        ("1,2\n3\n", ":2:1: found 1 columns"),
        ("1,2\n3,\n", ":2:3: found nothing"),
        ("1\nnan\n", ":2:1: found `nan`"),
        ("1\n2\n", "give --rate"),
        ("time,U\n0,1\n", "one moment only"),
        ("time\n0\n1\n", "only a time column"),
        ("time (h),U\n0,1\n1,2\n", "time in `h`"),
        ("time,U\n0,1\n1,2\n3,3\n", ":3:1: found a step of 1 "),
        ("time,U\n1,1\n1,2\n", ":3:1: found a step of 0"),
        ("a,b\n1,2,3\n", ":1:1: found 2 names over 3 columns"),
    ] {
        let found = read(text, &Hints::default()).unwrap_err();
        let found = found.in_file("f".as_ref()).to_string();
        assert!(found.contains(problem), "{text:?}: {found}");
    }
}
