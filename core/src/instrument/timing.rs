//! Counters of blocks of 1 ms. They enter the interlock as booleans only.

/// All counters.
#[derive(Clone, Copy, Debug)]
pub(super) struct Timing {
    /// In the present state.
    pub(super) in_state: u32,
    /// Blocks of the ramp after which it has taken too long.
    pub(super) ramp_due: u32,
    /// In the present drive, peeks included.
    pub(super) in_drive: u32,
    /// Since the last look with the source off.
    pub(super) since_peek: u16,
    /// At 95 % of the set and more.
    pub(super) at_voltage: u16,
    /// Continuity current gone and no voltage.
    pub(super) unwound: u16,
    /// What inhibits is gone.
    pub(super) quiet: u16,
    /// Supply below its least.
    pub(super) supply_low: u16,
    /// Supply comfortably above it.
    pub(super) supply_good: u16,
    /// Since a class was last told.
    pub(super) since_told: u32,
    /// Since the last proof that ended well.
    pub(super) since_proof: u32,
    /// The independent clock at the last frame, once there was one.
    last_frame_us: Option<u32>,
}

impl Timing {
    pub(super) const NEW: Self = Self {
        in_state: 0,
        ramp_due: 0,
        in_drive: 0,
        since_peek: 0,
        at_voltage: 0,
        unwound: 0,
        quiet: 0,
        supply_low: 0,
        supply_good: 0,
        since_told: u32::MAX,
        since_proof: u32::MAX,
        last_frame_us: None,
    };

    /// Microseconds from the last frame to this one by the independent clock; 0 for the first.
    pub(super) fn since_frame(&mut self, elapsed_us: u32) -> u32 {
        let last = self.last_frame_us.replace(elapsed_us);
        last.map_or(0, |last| elapsed_us.wrapping_sub(last))
    }

    /// One block has passed.
    pub(super) const fn step(&mut self) {
        self.in_state = self.in_state.saturating_add(1);
        self.in_drive = self.in_drive.saturating_add(1);
        self.since_peek = self.since_peek.saturating_add(1);
        self.since_told = self.since_told.saturating_add(1);
        self.since_proof = self.since_proof.saturating_add(1);
    }

    /// Counts `counter` up while `holds`, else starts it anew.
    pub(super) const fn count(counter: u16, holds: bool) -> u16 {
        if holds { counter.saturating_add(1) } else { 0 }
    }

    /// A state is entered.
    pub(super) const fn enter(&mut self) {
        self.in_state = 0;
        self.at_voltage = 0;
        self.unwound = 0;
        self.quiet = 0;
    }
}
