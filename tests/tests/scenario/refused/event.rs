//! Events: their moment, their one action, and what it refers to; faults.

use super::{ACROSS, Told, refused};

#[test]
fn an_event_has_a_moment_in_order_and_one_action() {
    let one = |body: &str, told: Told| refused(body, &[told]);
    one("[[at]]\ns = 0.5\n", (4, 1, "", "close", "an event needs an action"));
    one("[[at]]\npress = \"test\"\n", (4, 1, "", "s = 0 to 1", "s is missing"));
    let two = "[[at]]\ns = 0.5\npress = \"test\"\nrelease = \"null\"\n";
    one(two, (7, 1, "release", "another [[at]]", "this is a second"));
    one("[[at]]\ns = 0.5\npres = \"test\"\n", (6, 1, "pres", "press", "no such key here"));
    one("[[at]]\ns = 0.5\npress = \"tset\"\n", (6, 9, "tset", "test", "no such word here"));
    one("[[at]]\ns = 1.5\npress = \"test\"\n", (5, 5, "1.5", "0 to 1", "s cannot be 1.5"));
    one("[[at]]\ns = -1\npress = \"test\"\n", (5, 5, "-1", "0 to 1", "s cannot be -1"));
    let late = "[[at]]\ns = 0.5\npress = \"test\"\n[[at]]\ns = 0.4\nrelease = \"test\"\n";
    one(late, (8, 5, "0.4", "0.5 to 1", "events stand in the order of time"));
    one("[at]\ns = 1\npress = \"test\"\n", (4, 1, "[at]", "[[at]]", "a list is needed here"));
    one("[[at]]\ns = 1\nreset = false\n", (6, 9, "false", "true", "is no event"));
    let label = "[[at]]\ns = 0.1\nlabel = \"a\"\npress = \"test\"\n";
    one(&label.repeat(2), (10, 9, "a", "a label of its own", "another event has this label"));
    one(
        &label.replace("\"a\"", "\"A b\""),
        (
            6,
            9,
            "A b",
            "a letter, then letters, digits and _, at most 48 in all",
            "cannot be a name",
        ),
    );
}

#[test]
fn an_event_refers_to_what_is_there() {
    let parts = format!(
        "[part.a.resistor]\nohms = 1\n{ACROSS}[part.s.switch]\n{ACROSS}[part.c.capacitor]\nfarads = 1e-6\n{ACROSS}"
    );
    let one =
        |action: &str, told: Told| refused(&format!("{parts}[[at]]\ns = 0.1\n{action}\n"), &[told]);
    one("close = \"t\"", (14, 9, "t", "s", "there is no switch of this name"));
    one("open = \"a\"", (14, 8, "a", "s", "a is a resistor, not a switch"));
    one("set = { part = \"b\", ohms = 3 }", (14, 16, "b", "a", "there is no part of this name"));
    one("set = { part = \"a\" }", (14, 1, "", "ohms", "nothing to set on a resistor"));
    one("set = { part = \"a\", ohm = 3 }", (14, 21, "ohm", "ohms", "no such key here"));
    one("set = { part = \"a\", ohms = 0 }", (14, 28, "0", "0.001 to 1e14", "ohms cannot be 0"));
    one("set = { part = \"c\", volts = 5 }", (14, 21, "volts", "farads", "no such key here"));
    one("charge = { part = \"a\", volts = 5 }", (14, 19, "a", "c", "not a capacitor"));
    one("charge = { part = \"c\" }", (14, 1, "", "volts = -20000 to 20000", "volts is missing"));
    one("lead = { open = \"left\" }", (14, 17, "left", "pos", "no such word here"));
    one("lead = { off = true }", (14, 10, "off", "open", "no such key here"));
    one("lead = {}", (14, 8, "{}", "swap", "one thing happens to the leads"));
    one(
        "lead = { swap = true, short = true }",
        (14, 8, "{ swap = true, short = true }", "swap", "one thing happens to the leads"),
    );
    one("battery_volts = 200", (14, 17, "200", "0 to 20", "battery_volts cannot be 200"));
    one("select = { function = \"amps\" }", (14, 23, "amps", "volts", "no such word here"));
    one(
        "select = { function = \"off\", volts = 3 }",
        (14, 30, "volts", "function = \"insulation\"", "volts belongs to insulation"),
    );
}

#[test]
fn only_a_board_with_a_store_can_lose_its_power_in_a_write() {
    let event = |action: &str| format!("[[at]]\ns = 0.1\nlabel = \"a\"\n{action}\n");
    let accepted = "store = { pages = 4 } in [start]";
    for (action, found) in
        [("cut_power_in_write = 3", "cut_power_in_write"), ("overwrite = true", "overwrite")]
    {
        refused(&event(action), &[(7, 1, found, accepted, "the board has no store")]);
    }
    let one = |rest: &str, told: Told| refused(&format!("[start]\nstore = {{}}\n{rest}"), &[told]);
    let range = "0 to 1000000";
    one(&event("cut_power_in_write = -1"), (9, 22, "-1", range, "cut_power_in_write cannot be -1"));
    one(
        &event("cut_power_in_write = 1.5"),
        (9, 22, "1.5", range, "cut_power_in_write is a whole number"),
    );
    one(&event("overwrite = 1"), (9, 13, "1", "true", "true or false is needed here"));
    let swept = event("cut_power_in_write = 1") + "[sweep]\na_cut_power_in_write = [1, 2.5]\n";
    let whole = "cut_power_in_write is a whole number";
    one(&swept, (11, 24, "[1, 2.5]", "whole numbers", whole));
}

#[test]
fn a_store_has_room_for_its_rings() {
    let one = |store: &str, told: Told| refused(&format!("[start]\nstore = {store}\n"), &[told]);
    one("{ pages = 2 }", (5, 19, "2", "a whole number from 3 to 64", "pages cannot be this"));
    one("{ page = 3 }", (5, 11, "page", "pages", "no such key here"));
    one("true", (5, 9, "true", "{ key = value, .. }", "a table is needed here"));
}

#[test]
fn a_fault_is_checked_against_the_registry() {
    let one = |action: &str, told: &[Told]| refused(&format!("[[at]]\ns = 0.1\n{action}\n"), told);
    one("fault = { gate_short = {} }", &[(6, 11, "gate_short", "gate_shorted", "no such fault")]);
    one("fault = {}", &[(6, 9, "{}", "gate_shorted", "one fault is needed")]);
    one("clear = \"gate_shorted\"", &[(6, 9, "gate_shorted", "", "no fault of this name begins")]);
    one(
        "fault = { gate_shorted = { ohms = 1e9, stiky = true } }",
        &[
            (6, 35, "1e9", "0.1 to 1000000", "ohms cannot be 1e9"),
            (6, 40, "stiky", "sticky", "no such key here"),
        ],
    );
    one(
        "fault = { channel_stuck = { channel = \"v3\" } }",
        &[
            (6, 11, "", "volts = -1500 to 1500", "volts is missing"),
            (6, 39, "v3", "v1", "no such word here"),
        ],
    );
}
