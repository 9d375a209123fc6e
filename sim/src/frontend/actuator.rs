//! What moves between a command and what it does: delays, relays, the token of the second path.

/// A line that follows its command a fixed number of steps later.
#[derive(Clone, Copy, Debug)]
pub(super) struct Delay {
    past: u64,
    steps: u32,
}

impl Delay {
    /// Makes a line that is off; the delay is held to 63 steps.
    pub(super) fn new(seconds: f64, step_seconds: f64) -> Self {
        Self { past: 0, steps: steps(seconds, step_seconds).min(63) }
    }

    /// Takes the command of one step and gives the line.
    pub(super) const fn step(&mut self, command: bool) -> bool {
        self.past = (self.past << 1) | command as u64;
        (self.past >> self.steps) & 1 == 1
    }

    /// Says whether the line follows: the same command for longer than the delay.
    pub(super) const fn rests(&self) -> bool {
        self.past == 0 || self.past == u64::MAX
    }
}

/// A contact with travel, and with bounce when it closes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Contact {
    command: bool,
    left: u32,
    travel: u32,
    bounce: u32,
    /// Steps of one half of a bounce.
    beat: u32,
    /// Where it stood at the last step.
    closed: bool,
}

/// One half of a bounce (common practice: a few bounces of about half a millisecond).
const BEAT_SECONDS: f64 = 0.3e-3;

impl Contact {
    /// Makes an open contact.
    pub(super) fn new(travel: f64, bounce: f64, step_seconds: f64) -> Self {
        Self {
            command: false,
            left: 0,
            travel: steps(travel, step_seconds),
            bounce: steps(bounce, step_seconds),
            beat: steps(BEAT_SECONDS, step_seconds).max(1),
            closed: false,
        }
    }

    /// Changes travel and bounce from the next movement on.
    pub(super) fn set_times(&mut self, travel: f64, bounce: f64, step_seconds: f64) {
        self.travel = steps(travel, step_seconds);
        self.bounce = steps(bounce, step_seconds);
    }

    /// Takes the command of one step and gives the position.
    pub(super) const fn step(&mut self, command: bool) -> bool {
        if command != self.command {
            self.command = command;
            self.left = self.travel + if command { self.bounce } else { 0 };
        }
        self.closed = self.moved();
        self.closed
    }

    const fn moved(&mut self) -> bool {
        if self.left == 0 {
            return self.command;
        }
        self.left -= 1;
        if self.command && self.left < self.bounce {
            (self.left / self.beat).is_multiple_of(2)
        } else {
            !self.command
        }
    }

    /// Says whether it has arrived.
    pub(super) const fn rests(&self) -> bool {
        self.left == 0 && self.closed == self.command
    }
}

/// The supply of the source: up while the token changes, down some time after it stops.
#[derive(Clone, Copy, Debug)]
pub(super) struct Supply {
    token: bool,
    left: u32,
    hold: u32,
    switch: Contact,
}

impl Supply {
    /// Makes a supply that is down.
    pub(super) fn new(hold: f64, travel: f64, step_seconds: f64) -> Self {
        Self {
            token: false,
            left: 0,
            hold: steps(hold, step_seconds),
            switch: Contact::new(travel, 0.0, step_seconds),
        }
    }

    /// Takes the token of one step and says whether the supply is up.
    pub(super) const fn step(&mut self, token: bool) -> bool {
        if token != self.token {
            self.token = token;
            self.left = self.hold;
        }
        let up = self.left > 0;
        self.left = self.left.saturating_sub(1);
        self.switch.step(up)
    }

    /// Takes one step in which the token did not change, where that changes nothing else: the
    /// switch has arrived and the supply does not drop in this step. False where it does.
    pub(super) const fn rests(&mut self) -> bool {
        if !self.switch.rests() || self.switch.command != (self.left > 0) {
            return false;
        }
        self.left = self.left.saturating_sub(1);
        true
    }
}

/// Gives the whole number of steps nearest to a time.
pub(super) fn steps(seconds: f64, step_seconds: f64) -> u32 {
    libm::round(seconds / step_seconds) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_delay_moves_both_edges() {
        let mut line = Delay::new(0.2e-3, 0.1e-3);
        let seen = [true, true, true, false, false, false].map(|command| line.step(command));
        assert_eq!(seen, [false, false, true, true, true, false]);
    }

    #[test]
    fn a_contact_travels_and_bounces_only_when_it_closes() {
        let mut contact = Contact::new(0.3e-3, 0.6e-3, 0.1e-3);
        let closing: alloc::vec::Vec<bool> = (0..10).map(|_| contact.step(true)).collect();
        assert_eq!(closing[..3], [false; 3]);
        assert!(closing[3..9].contains(&true) && closing[3..9].contains(&false));
        assert!(closing[9]);
        let opening: alloc::vec::Vec<bool> = (0..4).map(|_| contact.step(false)).collect();
        assert_eq!(opening, [true, true, true, false]);
    }

    #[test]
    fn a_supply_drops_after_the_token_stops() {
        let mut supply = Supply::new(20e-3, 0.0, 1e-3);
        assert!(!supply.step(false));
        for n in 0..100 {
            assert!(supply.step(n % 2 == 0));
        }
        let up = (0..40).filter(|_| supply.step(false)).count();
        assert_eq!(up, 19);
    }
}
