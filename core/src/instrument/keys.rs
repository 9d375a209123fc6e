//! The keys: debouncing, fresh presses, and whether a drive is still asked for.

use crate::frame::{Key, Panel};
use crate::interlock::{Asked, Press};

/// Blocks of 1 ms that a contact must stand before a press counts.
const DEBOUNCE: u16 = 30;
/// Blocks that the key must have been up before a press is fresh.
const FRESH: u16 = 100;
/// Blocks of no contact before the key counts as let go; with the block itself well under 20 ms.
const LET_GO: u16 = 5;
/// Blocks that the two contacts may contradict each other while the key travels.
const TRAVEL: u16 = 50;

/// What the keys say in one block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Said {
    /// A fresh press.
    pub(super) press: Press,
    /// Whether the running drive is still asked for.
    pub(super) asked: Asked,
    /// The test key has been up for long enough.
    pub(super) up: bool,
    /// The contacts contradict each other.
    pub(super) panel_fault: bool,
    /// The key is down and started nothing, because it was down before.
    pub(super) stale: bool,
}

/// Follows the keys.
#[derive(Clone, Copy, Debug)]
pub(super) struct Keys {
    test: Follow,
    null: Follow,
    was_hold: bool,
    /// The function that the running drive was begun for.
    contradiction: u16,
    sustained: bool,
    let_go_once: bool,
    any: bool,
}

impl Keys {
    pub(super) const NEW: Self = Self {
        test: Follow::NEW,
        null: Follow::NEW,
        was_hold: false,
        contradiction: 0,
        sustained: false,
        let_go_once: false,
        any: false,
    };

    /// A drive begins: nothing of an earlier one is remembered. `timed` goes on without the key.
    pub(super) const fn begin(&mut self, timed: bool) {
        self.sustained = timed;
        self.let_go_once = false;
        self.any = false;
    }

    /// Takes the panel of one block. `changed`: the function is not that of the running drive.
    pub(super) fn step(&mut self, panel: &Panel, changed: bool, nulling: bool) -> Said {
        let fault = self.contradicts(panel.test);
        let test = self.test.step(panel.test.pressed && !fault);
        let null = self.null.step(panel.null);
        let hold = panel.hold && !self.was_hold;
        self.was_hold = panel.hold;
        self.sustain(panel, hold);
        let down =
            if nulling { self.null.is_down() || self.test.is_down() } else { self.test.is_down() };
        Said {
            // A press beside a key that is down, or was a moment ago, is not a fresh one.
            press: if test.pressed && self.null.is_up_for(FRESH + DEBOUNCE) {
                Press::Test
            } else if null.pressed && self.test.is_up_for(FRESH + DEBOUNCE) {
                Press::Null
            } else {
                Press::None
            },
            asked: if changed {
                Asked::Changed
            } else if self.any {
                Asked::AnyKey
            } else if down || self.sustained {
                Asked::Yes
            } else {
                Asked::Released
            },
            up: self.test.is_up_for(FRESH) && self.null.is_up_for(FRESH),
            panel_fault: fault,
            stale: test.stale,
        }
    }

    /// A held or timed drive goes on without the key, until any key ends it.
    fn sustain(&mut self, panel: &Panel, hold: bool) {
        if self.sustained {
            if !self.test.is_down() {
                self.let_go_once = true;
            }
            // Any contact counts, debounced or not: stopping must be easy.
            self.any |= panel.test.pressed && self.let_go_once || panel.null || hold;
        } else if hold && self.test.is_down() {
            self.sustained = true;
            self.let_go_once = false;
        }
    }

    fn contradicts(&mut self, key: Key) -> bool {
        self.contradiction = if key.agrees() { 0 } else { self.contradiction.saturating_add(1) };
        self.contradiction > TRAVEL
    }
}

/// One contact, debounced.
#[derive(Clone, Copy, Debug)]
struct Follow {
    closed_for: u16,
    open_for: u16,
    down: bool,
    /// Open for long enough since it was last down; false from power-up.
    fresh: bool,
}

struct Edge {
    pressed: bool,
    stale: bool,
}

impl Follow {
    const NEW: Self = Self { closed_for: 0, open_for: 0, down: false, fresh: false };

    fn step(&mut self, closed: bool) -> Edge {
        if closed {
            self.closed_for = self.closed_for.saturating_add(1);
            self.open_for = 0;
        } else {
            self.open_for = self.open_for.saturating_add(1);
            self.closed_for = 0;
        }
        if self.open_for >= FRESH {
            self.fresh = true;
        }
        if self.down && self.open_for >= LET_GO {
            self.down = false;
        }
        let pressed = self.closed_for == DEBOUNCE && self.fresh && !self.down;
        let stale = self.closed_for >= DEBOUNCE && !self.fresh && !self.down;
        if pressed {
            self.down = true;
            self.fresh = false;
        }
        Edge { pressed, stale }
    }

    const fn is_down(&self) -> bool {
        self.down
    }

    const fn is_up_for(&self, blocks: u16) -> bool {
        self.open_for >= blocks
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::Function;

    fn run(keys: &mut Keys, down: bool, blocks: u32) -> usize {
        let panel = Panel { test: Key::new(down), ..Panel::idle(Function::Volts) };
        (0..blocks).filter(|_| keys.step(&panel, false, false).press == Press::Test).count()
    }

    #[test]
    fn a_key_held_since_power_up_is_never_a_press() {
        let mut keys = Keys::NEW;
        assert_eq!(run(&mut keys, true, 5_000), 0);
        assert_eq!(run(&mut keys, false, 99), 0);
        assert_eq!(run(&mut keys, true, 1_000), 0, "released for 99 ms only");
    }

    #[test]
    fn a_press_after_100_ms_of_release_counts_once_after_30_ms() {
        let mut keys = Keys::NEW;
        run(&mut keys, false, 100);
        assert_eq!(run(&mut keys, true, 29), 0);
        assert_eq!(run(&mut keys, true, 1), 1);
        assert_eq!(run(&mut keys, true, 10_000), 0);
    }

    #[test]
    fn contacts_that_bounce_start_nothing_while_they_bounce() {
        let mut keys = Keys::NEW;
        run(&mut keys, false, 200);
        for _ in 0..20 {
            assert_eq!(run(&mut keys, true, 2), 0);
            assert_eq!(run(&mut keys, false, 1), 0);
        }
        assert_eq!(run(&mut keys, true, 30), 1);
    }

    #[test]
    fn contacts_that_contradict_each_other_count_as_not_pressed() {
        let mut keys = Keys::NEW;
        run(&mut keys, false, 200);
        let both =
            Panel { test: Key { pressed: true, rest: true }, ..Panel::idle(Function::Volts) };
        let mut fault = false;
        for _ in 0..100 {
            fault = keys.step(&both, false, false).panel_fault;
        }
        assert!(fault);
        assert_eq!(keys.step(&both, false, false).asked, Asked::Released);
    }

    #[test]
    fn any_key_ends_a_held_drive() {
        let mut keys = Keys::NEW;
        run(&mut keys, false, 200);
        run(&mut keys, true, 31);
        keys.begin(false);
        let held = Panel { test: Key::DOWN, hold: true, ..Panel::idle(Function::Volts) };
        assert_eq!(keys.step(&held, false, false).asked, Asked::Yes);
        let let_go = Panel { test: Key::UP, ..held };
        for _ in 0..500 {
            assert_eq!(keys.step(&let_go, false, false).asked, Asked::Yes);
        }
        assert_eq!(keys.step(&held, false, false).asked, Asked::AnyKey);
        assert_eq!(keys.step(&let_go, false, false).asked, Asked::AnyKey);
    }
}
