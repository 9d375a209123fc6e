//! What a fault event carries: a name and parameters, checked against a registry.
//!
//! The registry is data that the faults themselves provide; nothing here knows what a fault does.

use alloc::string::String;
use alloc::vec::Vec;

use super::key::{Key, Takes};

/// Describes one fault that can be injected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FaultSpec {
    /// Its name: small letters and underscores.
    pub name: &'static str,
    /// Its parameters, with ranges and defaults.
    pub params: &'static [Key],
    /// One sentence for a reader.
    pub sentence: &'static str,
}

impl FaultSpec {
    /// Finds one of its parameters.
    #[must_use]
    pub fn param(&self, name: &str) -> Option<&'static Key> {
        self.params.iter().find(|key| key.name == name)
    }
}

/// A value of a fault's parameter.
#[derive(Clone, Debug, PartialEq)]
pub enum Param {
    /// A number, in the unit of its key's name.
    Number(f64),
    /// `true` or `false`.
    Flag(bool),
    /// A word or text.
    Word(String),
}

/// A fault to inject, complete: every parameter of its spec, in the order of the spec.
#[derive(Clone, Debug, PartialEq)]
pub struct FaultCall {
    /// Which fault.
    pub spec: &'static FaultSpec,
    /// Its parameters by name.
    pub params: Vec<(&'static str, Param)>,
}

impl FaultCall {
    /// Calls a fault with its defaults; a number without one is the least that it may be.
    #[must_use]
    pub fn plain(spec: &'static FaultSpec) -> Self {
        let value = |takes: Takes| match takes {
            Takes::Number { least, default, .. } => Param::Number(default.unwrap_or(least)),
            Takes::Flag { default } => Param::Flag(default),
            Takes::Word { accepted, default } => {
                Param::Word(default.or(accepted.first().copied()).unwrap_or_default().into())
            }
            Takes::Text | Takes::Harmonics => Param::Word(String::new()),
        };
        let params = spec.params.iter().map(|key| (key.name, value(key.takes))).collect();
        Self { spec, params }
    }

    /// Gives a number by its key.
    #[must_use]
    pub fn number(&self, key: &str) -> Option<f64> {
        match self.param(key)? {
            Param::Number(value) => Some(*value),
            Param::Flag(_) | Param::Word(_) => None,
        }
    }

    /// Gives a flag by its key.
    #[must_use]
    pub fn flag(&self, key: &str) -> Option<bool> {
        match self.param(key)? {
            Param::Flag(value) => Some(*value),
            Param::Number(_) | Param::Word(_) => None,
        }
    }

    /// Gives a word by its key.
    #[must_use]
    pub fn word(&self, key: &str) -> Option<&str> {
        match self.param(key)? {
            Param::Word(value) => Some(value),
            Param::Number(_) | Param::Flag(_) => None,
        }
    }

    fn param(&self, key: &str) -> Option<&Param> {
        self.params.iter().find(|(name, _)| *name == key).map(|(_, value)| value)
    }

    /// Gives the place of a number by its key.
    pub(super) fn number_mut(&mut self, key: &str) -> Option<&mut f64> {
        match self.params.iter_mut().find(|(name, _)| *name == key) {
            Some((_, Param::Number(value))) => Some(value),
            _ => None,
        }
    }
}
