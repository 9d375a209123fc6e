//! The built-in limits, group by group, each with its source.

use super::entry::{Depends, Entry, Remark};
use super::source::{Source, Standing};
use crate::judge::{Limit, Unit};
use crate::unit::{Temperature, Voltage};

/// All groups, in the order of their ids.
pub(super) const ALL: [&[Entry<'static>]; 5] = [INSTALLATIONS, APPARATUS, MACHINES, CABLES, TRADE];

/// What most entries share: an insulation resistance of at least so much, whatever the conditions.
const PLAIN: Entry<'static> = Entry {
    id: 0,
    word: "",
    about: "",
    of: Unit::Ohm,
    limit: Limit::AtLeast(0.0),
    set: None,
    at: None,
    depends: Depends::Nothing,
    source: WIRING,
    remark: None,
};

const fn volts(v: i32) -> Option<Voltage> {
    Some(Voltage::from_volts(v))
}

const fn says(says: &'static str) -> Option<Remark<'static>> {
    Some(Remark { until: None, says })
}

const WIRING: Source<'static> =
    Source::new("BS 7671, 643.3.2, as cited in trade texts", "18th edition", Standing::Secondary)
        .numbered(1);
const WIRING_RECALLED: Source<'static> =
    Source::new("BS 7671, 643.3, and IEC 60364-6", "18th edition; 2016", Standing::FromMemory)
        .numbered(2);

/// Fixed wiring, between conductors and to earth.
const INSTALLATIONS: &[Entry<'static>] = &[
    Entry {
        id: 1,
        word: "installation_selv",
        about: "fixed wiring at extra-low voltage, separated from earth or from the mains",
        limit: Limit::AtLeast(0.5e6),
        set: volts(250),
        ..PLAIN
    },
    Entry {
        id: 2,
        word: "installation_500v",
        about: "fixed wiring up to and including 500 V",
        limit: Limit::AtLeast(1.0e6),
        set: volts(500),
        remark: Some(Remark {
            until: Some(2.0e6),
            says: "Below 2 Mohm there may be a fault that is not out yet: look for it (B. Linsley, \
                   Basic Electrical Installation Work; secondary).",
        }),
        ..PLAIN
    },
    Entry {
        id: 3,
        word: "installation_above_500v",
        about: "fixed wiring above 500 V",
        limit: Limit::AtLeast(1.0e6),
        set: volts(1_000),
        source: WIRING_RECALLED,
        ..PLAIN
    },
    Entry {
        id: 4,
        word: "installation_connected",
        about: "fixed wiring with equipment connected, live conductors together to earth",
        limit: Limit::AtLeast(1.0e6),
        set: volts(250),
        source: WIRING_RECALLED,
        remark: says(
            "The 250 V spares what is connected (643.3.3, secondary); it shows less than 500 V on \
             bare wiring does.",
        ),
        ..PLAIN
    },
];

const APPARATUS_AT_20: Entry<'static> = Entry {
    set: volts(1_000),
    at: Some(Temperature::from_celsius(20)),
    source: Source::new("ANSI/NETA MTS, Table 100.1", "2019", Standing::Published).numbered(3),
    remark: says("The maker of the apparatus may ask for more."),
    ..PLAIN
};

/// Apparatus other than rotating machines, by its nominal rating.
const APPARATUS: &[Entry<'static>] = &[
    Entry {
        id: 10,
        word: "apparatus_250v",
        about: "apparatus other than rotating machines, rated 250 V",
        limit: Limit::AtLeast(25.0e6),
        set: volts(500),
        ..APPARATUS_AT_20
    },
    Entry {
        id: 11,
        word: "apparatus_600v",
        about: "apparatus other than rotating machines, rated 600 V",
        limit: Limit::AtLeast(100.0e6),
        ..APPARATUS_AT_20
    },
    Entry {
        id: 12,
        word: "apparatus_1000v",
        about: "apparatus other than rotating machines, rated 1000 V",
        limit: Limit::AtLeast(100.0e6),
        ..APPARATUS_AT_20
    },
    Entry {
        id: 13,
        word: "apparatus_2500v",
        about: "apparatus other than rotating machines, rated 2500 V",
        limit: Limit::AtLeast(500.0e6),
        ..APPARATUS_AT_20
    },
];

const WINDING: Entry<'static> = Entry {
    at: Some(Temperature::from_celsius(40)),
    source: Source::new("IEEE Std 43, as cited in trade texts", "2013", Standing::Secondary)
        .numbered(4),
    remark: says("Read after one minute of steady voltage, winding above the dew point."),
    ..PLAIN
};

const INDEX: Entry<'static> = Entry {
    of: Unit::Ratio,
    at: None,
    remark: says(
        "The same voltage and connections for the whole ten minutes; a random-wound machine may \
         show next to no absorption. Above 8, look for insulation that has aged dry and brittle.",
    ),
    ..WINDING
};

/// Windings, and the polarization index.
const MACHINES: &[Entry<'static>] = &[
    Entry {
        id: 20,
        word: "winding_before_1970",
        about: "windings made before about 1970, and field windings: 1 Mohm and 1 Mohm for each kV",
        limit: Limit::AtLeast(1.0e6),
        depends: Depends::RatedKilovolts,
        source: Source::new(
            "IEEE Std 43, as quoted in a public flyer",
            "1974, reaffirmed 1984",
            Standing::Secondary,
        )
        .numbered(5),
        ..WINDING
    },
    Entry {
        id: 21,
        word: "winding_form_wound",
        about: "form-wound and dc armature windings made after about 1970",
        limit: Limit::AtLeast(100.0e6),
        ..WINDING
    },
    Entry {
        id: 22,
        word: "winding_random_wound",
        about: "random-wound machines below 1 kV, and dc armatures",
        limit: Limit::AtLeast(5.0e6),
        set: volts(500),
        source: Source::new("IEEE Std 43, Tables 1 and 3", "2000", Standing::FromMemory)
            .numbered(6),
        ..WINDING
    },
    Entry {
        id: 23,
        word: "polarization_class_a",
        about: "polarization index of class A insulation",
        limit: Limit::AtLeast(1.5),
        ..INDEX
    },
    Entry {
        id: 24,
        word: "polarization_class_b",
        about: "polarization index of class B, F and H insulation",
        limit: Limit::AtLeast(2.0),
        ..INDEX
    },
    Entry {
        id: 25,
        word: "polarization_transformer",
        about: "polarization index of a transformer",
        limit: Limit::AtLeast(1.0),
        source: Source::new(
            "ANSI/NETA MTS, 7.2.2, as cited in trade texts",
            "2019",
            Standing::Secondary,
        )
        .numbered(7),
        remark: says("Oil-filled ones commonly show 1.2 to 1.8 in good order."),
        ..INDEX
    },
];

/// Cables and harnesses.
const CABLES: &[Entry<'static>] = &[
    Entry {
        id: 30,
        word: "wiring_harness",
        about: "wiring harness, 200 to 1000 V dc for at most a minute",
        limit: Limit::AtLeast(100.0e6),
        set: volts(200),
        depends: Depends::HarnessTemperature,
        source: Source::new(
            "US Army SB 740-91-01, \"Insulation Resistance\", paragraph 4.c",
            "",
            Standing::Published,
        )
        .numbered(8),
        ..PLAIN
    },
    Entry {
        id: 31,
        word: "telephone_ship",
        about: "telephone circuits of a ship",
        limit: Limit::AtLeast(50.0e3),
        source: Source::new(
            "NAVEDTRA 14120, Interior Communications Electrician",
            "",
            Standing::Published,
        )
        .numbered(9),
        ..PLAIN
    },
];

/// What the trade goes by, without a standard that was found.
const TRADE: &[Entry<'static>] = &[
    Entry {
        id: 40,
        word: "absorption_ratio",
        about: "dielectric absorption ratio, one minute over half a minute",
        of: Unit::Ratio,
        limit: Limit::AtLeast(1.25),
        source: Source::new("trade table; no standard found", "", Standing::FromMemory)
            .numbered(10),
        remark: says("The same voltage and range at both times."),
        ..PLAIN
    },
    Entry {
        id: 41,
        word: "dielectric_discharge",
        about: "dielectric discharge: current a minute after, by voltage and capacitance",
        of: Unit::MilliampPerVoltFarad,
        limit: Limit::AtMost(2.0),
        source: Source::new("trade table; no standard found", "", Standing::FromMemory)
            .numbered(10),
        remark: says("Counts only after a full charge of ten minutes and more."),
        ..PLAIN
    },
    Entry {
        id: 42,
        word: "voltage_step",
        about: "step voltage: the resistance at the highest step over that at the lowest",
        of: Unit::Ratio,
        limit: Limit::AtLeast(0.75),
        source: Source::new(
            "commonly a fall of 25 % over steps of 1 to 5",
            "",
            Standing::FromMemory,
        )
        .numbered(11),
        remark: says("Equal times at each step: absorption alone makes the resistance rise."),
        ..PLAIN
    },
];
