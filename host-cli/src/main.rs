//! The command line of Ohmwarden.

fn main() {}
