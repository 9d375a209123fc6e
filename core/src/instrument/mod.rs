//! The one function: a frame in, commands out. Ties the parts together and holds no rule itself.
//!
//! In each block: sum the samples up, watch channels and terminals, follow the keys, ask the
//! interlock, act on a change of state, put the outputs together. What the parts decide is in
//! their own modules.

use crate::calibration::{Adjusted, Calibration};
use crate::commands::{Commands, Event};
use crate::correct::Surroundings;
use crate::date::Date;
use crate::detect::currents::Currents;
use crate::detect::discharge::{DischargeWatch, EnergyAccount, Progress};
use crate::detect::health::Health;
use crate::detect::live::Live;
use crate::detect::prove::{Outcome, Prover};
use crate::detect::store::StoreMeter;
use crate::detect::{Block, Circuit, Evidence, Gap, PathProof, Zero, ZeroMeter};
use crate::frame::{Frame, Function};
use crate::gate::Closing;
use crate::interlock::{Lock, Reason, State, next};
use crate::judge::{Criterion, Judged, Reading, Whole};
use crate::kept::Kept;
use crate::measure::timed::{self, Refusal};
use crate::measure::{Continuity, Curve, Decay, Insulation, TimedRun};
use crate::profile::{Profile, Scale, Shunt};
use crate::signal::{Meter, SampleRate};
use crate::unit::{Resistance, Voltage};

use committed::Committed;
use keys::{Keys, Said};
use timing::Timing;

mod act;
mod commit;
mod committed;
mod inputs;
mod keys;
mod measuring;
mod observe;
mod outputs;
mod stored;
mod timing;

/// Everything that an instrument decides and remembers.
///
/// ```
/// use ohmwarden_core::frame::{Frame, Function, Panel, Sample, Seen};
/// use ohmwarden_core::{Instrument, profile::GENERAL, signal::SampleRate, unit::Voltage};
///
/// let mut instrument = Instrument::new(&GENERAL, SampleRate::DEFAULT);
/// let samples = [Sample::default(); 10];
/// let commands = instrument.step(&Frame {
///     samples: &samples,
///     panel: Panel::idle(Function::Insulation(Voltage::from_volts(500))),
///     elapsed_us: 1_000,
///     supply_mv: 6_000,
///     seen: Seen::default(),
/// });
/// assert!(!commands.view().live);
/// ```
#[derive(Clone, Debug)]
pub struct Instrument {
    profile: &'static Profile,
    rate: SampleRate,
    state: State,
    reason: Reason,
    timing: Timing,
    keys: Keys,
    /// Twice the peak trip, on both channels in one sample: a pulse.
    pulse: i16,
    last: [i16; 2],
    block: Block,
    live: Live,
    health: Health,
    currents: Currents,
    prover: Prover,
    zero_meter: ZeroMeter,
    zero: Zero,
    proved: Option<Proved>,
    told: Option<Circuit>,
    evidence: Evidence,
    path: PathProof,
    store: StoreMeter,
    discharge: DischargeWatch,
    progress: Progress,
    energy: EnergyAccount,
    charge_out: i64,
    peek_from: Voltage,
    meter: Meter,
    insulation: Insulation,
    continuity: Continuity,
    timed: TimedRun,
    refused: Option<Refusal>,
    gap: Gap,
    decay: Decay,
    /// The capacitance, leads included, once the store was let down.
    stored: Reading,
    pending: Reading,
    judged: Option<Judged>,
    limit: Option<Criterion>,
    surroundings: Surroundings,
    committed: Option<Committed>,
    function: Function,
    nulling: bool,
    /// Continuity current that would not die away in time still does, locked.
    unwinds: bool,
    epoch: u32,
    expects_drive: bool,
    tripped_at: Option<Voltage>,
    breakdown: bool,
    stuck: u16,
    fault: Option<Lock>,
    kept: Kept,
    today: Option<Date>,
    calibration: Calibration,
    /// What the scale that is shown comes to in doubt, until the calibration or the day changes.
    doubt: Option<(Scale, Whole)>,
    token: bool,
    asks_tell: bool,
    recovers: bool,
    limited: bool,
    retest: bool,
    dead_for: u16,
    balances: bool,
    /// The current of a discharge is still to be read.
    reabsorbs: bool,
}

/// A class that was proved and that this profile permits a drive on, with its level.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Proved {
    class: Circuit,
    dc: Voltage,
    peak: Voltage,
    source: Option<Resistance>,
}

impl Instrument {
    /// Makes an instrument as it is at power-up.
    #[must_use]
    #[expect(clippy::too_many_lines, reason = "a list of all there is, and nothing else")]
    pub const fn new(profile: &'static Profile, rate: SampleRate) -> Self {
        Self {
            profile,
            rate,
            state: State::Boot,
            reason: Reason::Ready,
            timing: Timing::NEW,
            keys: Keys::NEW,
            pulse: observe::pulse_code(profile.trip.peak, profile.front_end.v.gain_q24()),
            last: [0; 2],
            block: Block::NONE,
            live: Live::new(rate),
            health: Health::new(rate),
            currents: Currents::NEW,
            prover: Prover::IDLE,
            zero_meter: ZeroMeter::NEW,
            zero: Zero::NONE,
            proved: None,
            told: None,
            evidence: Evidence::NONE,
            path: PathProof::NONE,
            store: StoreMeter::EMPTY,
            discharge: DischargeWatch::IDLE,
            progress: Progress::NONE,
            energy: EnergyAccount::COLD,
            charge_out: 0,
            peek_from: Voltage::ZERO,
            meter: Meter::new(rate),
            insulation: Insulation::new(rate),
            continuity: Continuity::new(rate, None),
            timed: TimedRun::IDLE,
            refused: None,
            gap: Gap::NEW,
            decay: Decay::NEW,
            stored: Reading::NONE,
            pending: Reading::NONE,
            judged: None,
            limit: None,
            surroundings: Surroundings::UNKNOWN,
            committed: None,
            function: Function::Off,
            nulling: false,
            unwinds: false,
            epoch: 0,
            expects_drive: false,
            tripped_at: None,
            breakdown: false,
            stuck: 0,
            fault: None,
            kept: Kept::NOTHING,
            today: None,
            calibration: Calibration::ABSENT,
            doubt: None,
            token: false,
            asks_tell: false,
            recovers: false,
            limited: false,
            retest: false,
            dead_for: 0,
            balances: false,
            reabsorbs: false,
        }
    }

    /// Hands back what was kept across a power cut; before the first step. An unfinished drive is
    /// told. An actuator that was found broken stays locked: the source is tested again while
    /// booting, with the output relay open; discharge and regulator cannot be tested without a
    /// drive, so their lock stays until somebody who repaired them clears it from what is kept.
    pub const fn wake(&mut self, kept: Kept) {
        self.kept = kept;
        self.retest = matches!(kept.lock, Some(Lock::DriveStuck));
        self.fault = if self.retest { None } else { kept.lock };
    }

    /// Sets what readings are judged against; `None` judges nothing.
    pub const fn set_limit(&mut self, limit: Option<Criterion>) {
        self.limit = limit;
    }

    /// Tells what is known round the circuit: it counts for readings that are committed from then on.
    pub const fn set_surroundings(&mut self, surroundings: Surroundings) {
        self.surroundings = surroundings;
    }

    /// Tells the day, which core cannot know: for due dates and for the age of a lead null.
    pub const fn set_today(&mut self, today: Option<Date>) {
        self.today = today;
        self.doubt = None;
    }

    /// Hands over the constants of the front end; without any, or with damaged ones, no reading is
    /// calibrated and none can pass. They correct readings and nothing that decides about safety.
    pub const fn set_calibration(&mut self, calibration: Option<Calibration>) {
        self.calibration = match calibration {
            Some(calibration) => calibration,
            None => Calibration::ABSENT,
        };
        self.doubt = None;
    }

    /// The scales as readings are to be made on them today.
    fn adjusted(&self) -> Adjusted<'_> {
        self.calibration.on(self.today, &self.profile.front_end)
    }

    /// What it is doing.
    #[must_use]
    pub const fn state(&self) -> State {
        self.state
    }

    /// The path evidence, for watchers of the rules.
    #[must_use]
    pub const fn path(&self) -> PathProof {
        self.path
    }

    /// The function that the present or last drive was begun for.
    #[must_use]
    pub const fn function(&self) -> Function {
        self.function
    }

    /// The voltage that is asked for now: that of the function, or of the present step up to it.
    #[must_use]
    pub fn set_voltage(&self) -> Voltage {
        match self.function {
            Function::Timed(full, _) => self.timed.set(full),
            function => function.test_voltage(),
        }
    }

    /// The points of the present or last timed test; they stay when it is cut short.
    #[must_use]
    pub const fn curve(&self) -> &Curve {
        self.timed.curve()
    }

    /// Blocks since a proof ended that permits a drive; `None` before the first.
    #[must_use]
    pub const fn blocks_since_proof(&self) -> Option<u32> {
        if self.timing.since_proof == u32::MAX { None } else { Some(self.timing.since_proof) }
    }

    /// Decides what to do in the next block. Bounded work, no I/O, cannot panic.
    pub fn step(&mut self, frame: &Frame<'_>) -> Commands {
        let from = self.state;
        let had = self.committed.is_some();
        let closing = self.observe(frame);
        let outcome = self.prove(frame);
        let said = self.keys.step(&frame.panel, self.function_left(frame), self.nulling);
        let input = self.input(frame, &said, closing, outcome);
        let decided = next(self.state, input);
        let before = self.reason;
        if let Some(reason) = self.answer(frame, &said).or(decided.reason) {
            self.reason = reason;
        }
        if decided.state != from {
            self.change(decided.state, frame);
        }
        self.measure(frame);
        let news = decided.reason.or(Some(self.reason).filter(|now| *now != before));
        let event = (decided.state != from || news.is_some()).then_some(Event {
            from,
            to: decided.state,
            reason: news,
        });
        let committed = self.committed.is_some() && !had;
        Commands { committed, ..self.commands(frame, &decided, event) }
    }

    /// Whether the selector stands on something else than what the running drive was begun for.
    fn function_left(&self, frame: &Frame<'_>) -> bool {
        self.state.drive().is_some()
            | matches!(
                self.state,
                State::Prove { .. } | State::Peek { .. } | State::Discharging { .. }
            )
            && frame.panel.function != self.function
    }

    /// A press that starts nothing, with what it did or why it did nothing.
    fn answer(&mut self, frame: &Frame<'_>, said: &Said) -> Option<Reason> {
        self.null_of_leads(frame, said).or_else(|| self.refusal(frame, said))
    }

    /// A press that starts nothing, with the reason to show.
    fn refusal(&self, frame: &Frame<'_>, said: &Said) -> Option<Reason> {
        let resting = matches!(self.state, State::Rest | State::RestLow);
        if !resting {
            return None;
        }
        if said.panel_fault {
            return Some(Reason::Panel);
        }
        if said.stale && self.reason == Reason::Ready {
            return Some(Reason::ButtonHeld);
        }
        let pressed = said.press == crate::interlock::Press::Test;
        (pressed && !self.allowed(frame.panel.function)).then_some(Reason::NotAllowed)
    }

    /// Whether the profile has this function at this voltage.
    const fn allowed(&self, function: Function) -> bool {
        match function {
            Function::Insulation(v) | Function::Timed(v, _) => self.profile.sets.allow(v),
            Function::Continuity(_)
            | Function::Resistance
            | Function::Volts
            | Function::Off
            | Function::Between => true,
        }
    }

    /// The voltage that a drive for `function` begins with.
    fn first_set(function: Function) -> Voltage {
        match function {
            Function::Timed(full, test) => timed::step_voltage(test, full, 0),
            function => function.test_voltage(),
        }
    }

    const fn shunt(&self) -> Shunt {
        match self.state {
            State::ContRun | State::Nulling | State::Unwind => self.continuity.shunt(),
            State::Prove { .. } => self.zero_meter.shunt(),
            _ => self.insulation.shunt(),
        }
    }
}

#[derive(Clone, Copy, Debug)]
struct Observed {
    closing: Option<Closing>,
}

/// How a proof ended in this block, if one did.
type Ended = Option<Outcome>;
