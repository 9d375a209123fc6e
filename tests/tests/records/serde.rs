//! With `serde` a record can be written out, and what is read back keeps what its type promises.

use ohmwarden_core::judge::Flags;
use ohmwarden_core::kept::Kept;
use ohmwarden_core::record::About;
use ohmwarden_core::unit::Resistance;
use proptest::prelude::*;

use crate::any;

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_known_of_any_record_goes_through_text_and_back(record in any::record()) {
        let text = serde_json::to_string(record.about()).unwrap();
        prop_assert_eq!(&serde_json::from_str::<About>(&text).unwrap(), record.about());
        let all = serde_json::to_value(&record).unwrap();
        prop_assert_eq!(&all["serial"], &serde_json::json!(record.serial()));
    }

    #[test]
    fn anything_kept_goes_through_text_and_back(kept in any::kept()) {
        let text = serde_json::to_string(&kept).unwrap();
        prop_assert_eq!(serde_json::from_str::<Kept>(&text).unwrap(), kept);
    }
}

#[test]
fn flags_without_a_name_are_not_read() {
    for (flag, _) in Flags::WORDS {
        let text = serde_json::to_string(flag).unwrap();
        assert_eq!(serde_json::from_str::<Flags>(&text).unwrap(), *flag);
    }
    assert!(serde_json::from_str::<Flags>("2147483648").is_err());
}

#[test]
fn a_quantity_is_written_as_its_base_unit() {
    let text = serde_json::to_string(&Resistance::from_ohms(2)).unwrap();
    assert_eq!(text, "2000", "milliohms");
}
