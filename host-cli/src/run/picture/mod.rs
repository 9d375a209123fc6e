//! What is kept of a run for a drawing: a column of extremes for each column of the terminal, every
//! change of state, every event, and the moments at which the gate closed by itself.

pub(crate) mod bands;
pub(crate) mod chart;
pub(crate) mod drawing;
pub(crate) mod marks;
pub(crate) mod story;

use ohmwarden_core::commands::Event as Change;
use ohmwarden_core::interlock::State;
use ohmwarden_sim::scenario::Event;
use ohmwarden_sim::world::{Observer, Snapshot, StoreEvent};

use super::happening;

/// What happened in the time of one column of the drawing.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Slot {
    /// Least and greatest terminal voltage.
    pub(crate) volts: Option<(f64, f64)>,
    /// Least and greatest source current, amperes.
    pub(crate) amps: Option<(f64, f64)>,
    /// The state at its end.
    pub(crate) state: Option<&'static str>,
    /// The class that the view tells at its end.
    pub(crate) circuit: Option<&'static str>,
    /// The test key was down.
    pub(crate) test: bool,
    /// The gate was open.
    pub(crate) gate: bool,
    /// The discharge resistor was across the terminals.
    pub(crate) discharge: bool,
    /// A source in the circuit would have held the terminals above the trip.
    pub(crate) live: bool,
    /// The view said so.
    pub(crate) said: bool,
}

/// Something that is told in words.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Moment {
    /// The scenario let something happen: its label, and what.
    Event { label: Option<String>, what: String },
    /// The gate closed while core still drove: one of its own rules held.
    GateClosed { volts: f64 },
    /// Core changed its state.
    Change(Change),
    /// What became of something that was to be kept.
    Store(StoreEvent),
}

/// Looks on and keeps what a drawing needs.
#[derive(Clone, Debug)]
pub(crate) struct Picture {
    /// The length of the run, seconds.
    pub(crate) seconds: f64,
    /// The columns.
    pub(crate) slots: Vec<Slot>,
    /// Everything that is told, with its time in seconds.
    pub(crate) moments: Vec<(f64, Moment)>,
    /// The last moment of the run.
    pub(crate) last: Snapshot,
    gate_open: bool,
}

impl Picture {
    /// Begins a drawing of so many columns for a run of so many seconds.
    pub(crate) fn new(columns: usize, seconds: f64) -> Self {
        Self {
            seconds,
            slots: vec![Slot::default(); columns.max(1)],
            moments: Vec::new(),
            last: Snapshot::default(),
            gate_open: false,
        }
    }

    /// The column that a moment falls into.
    pub(crate) fn column(&self, seconds: f64) -> usize {
        let part = seconds / self.seconds * self.slots.len() as f64;
        // A moment at the very end belongs to the last column.
        (part.max(0.0) as usize).min(self.slots.len() - 1)
    }
}

impl Observer for Picture {
    fn sample(&mut self, now: &Snapshot) {
        let column = self.column(now.seconds);
        if let Some(slot) = self.slots.get_mut(column) {
            slot.take(now);
        }
        if self.gate_open && !now.gate.on && drives(now) {
            let volts = now.terminal_volts;
            self.moments.push((now.seconds, Moment::GateClosed { volts }));
        }
        self.gate_open = now.gate.on;
        self.last.clone_from(now);
    }

    fn change(&mut self, now: &Snapshot, change: &Change) {
        self.moments.push((now.seconds, Moment::Change(*change)));
    }

    fn event(&mut self, seconds: f64, event: &Event) {
        let what = happening::told(&event.action);
        self.moments.push((seconds, Moment::Event { label: event.label.clone(), what }));
    }

    fn store(&mut self, now: &Snapshot, told: StoreEvent) {
        self.moments.push((now.seconds, Moment::Store(told)));
    }
}

/// Whether core, as it was last heard, still drives.
fn drives(now: &Snapshot) -> bool {
    now.view.is_some_and(|view| view.state.drive().is_some())
}

impl Slot {
    fn take(&mut self, now: &Snapshot) {
        let stretched = |span: Option<(f64, f64)>, value: f64| {
            Some(span.map_or((value, value), |(low, high)| (low.min(value), high.max(value))))
        };
        self.volts = stretched(self.volts, now.terminal_volts);
        self.amps = stretched(self.amps, now.source_amps);
        self.test |= now.test_down;
        self.gate |= now.gate.on;
        self.discharge |= now.discharging;
        self.live |= now.outside_live;
        let view = now.view;
        self.state = Some(view.map_or(State::Boot.word(), |view| view.state.word()));
        self.circuit = view.and_then(|view| view.circuit).map(|circuit| circuit.word());
        self.said |= view.is_some_and(|view| view.live);
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use ohmwarden_core::view::View;

    use super::*;

    /// A moment with a view of this state.
    pub(crate) fn snapshot(seconds: f64, volts: f64, state: State) -> Snapshot {
        let view = Some(View { state, ..View::BLANK });
        let mut now = Snapshot::default();
        (now.seconds, now.terminal_volts, now.view) = (seconds, volts, view);
        now
    }

    fn open(mut now: Snapshot) -> Snapshot {
        now.gate.on = true;
        now
    }

    #[test]
    fn a_column_keeps_the_extremes_of_its_time_and_nothing_of_its_neighbours() {
        let mut picture = Picture::new(10, 1.0);
        for (seconds, volts) in [(0.01, 5.0), (0.05, -7.0), (0.11, 2.0)] {
            picture.sample(&snapshot(seconds, volts, State::Rest));
        }
        assert_eq!(picture.slots[0].volts, Some((-7.0, 5.0)));
        assert_eq!(picture.slots[1].volts, Some((2.0, 2.0)));
        assert_eq!(picture.slots[2], Slot::default());
        assert_eq!(picture.column(1.0), 9);
    }

    #[test]
    fn only_a_gate_that_closes_while_core_drives_has_closed_by_itself() {
        let drive = State::Drive { restarts: 0 };
        let mut picture = Picture::new(10, 1.0);
        picture.sample(&open(snapshot(0.1, 500.0, drive)));
        picture.sample(&snapshot(
            0.2,
            490.0,
            State::Discharging { absorb: 0, then: ohmwarden_core::interlock::Then::Settle },
        ));
        assert!(picture.moments.is_empty());
        picture.sample(&open(snapshot(0.3, 500.0, drive)));
        picture.sample(&snapshot(0.4, 480.0, drive));
        assert_eq!(picture.moments, [(0.4, Moment::GateClosed { volts: 480.0 })]);
    }
}
