//! The electronics of the default instrument as numbers; own design, as in core's profile.

/// Everything about the electronics that can be chosen; the unit is in the name.
#[derive(Clone, Debug, PartialEq)]
pub struct FrontEndParams {
    /// Upper resistor of each divider, terminal to tap.
    pub divider_top_ohms: f64,
    /// Lower resistor of each divider, tap to the negative terminal.
    pub divider_bottom_ohms: f64,
    /// Anti-alias pole of both voltage channels and of the current.
    pub filter_hertz: f64,
    /// Current of the proving bias into the tap of the first divider, out of that of the second.
    ///
    /// Being a current it changes neither gain nor input resistance, and what one divider puts
    /// into the terminals the other takes out: the load sees none of it.
    pub bias_amps: f64,
    /// Gain of the high-voltage regulator from volts at its output to amperes.
    pub regulator_siemens: f64,
    /// The most current after the dividers.
    pub limit_amps: f64,
    /// Output capacitor.
    pub output_farads: f64,
    /// What bleeds the output capacitor while the relay is open.
    pub bleed_ohms: f64,
    /// Series protection, inside the regulation loop; 1 kohm to 100 kohm.
    pub series_ohms: f64,
    /// Ripple of the source, amplitude of its set point.
    pub ripple_volts: f64,
    /// Frequency of the ripple.
    pub ripple_hertz: f64,
    /// Travel of the output relay and of the continuity relay.
    pub relay_travel_s: f64,
    /// Bounce of a relay that closes.
    pub relay_bounce_s: f64,
    /// From the gate's word to the end (or start) of the source's current.
    pub gate_delay_s: f64,
    /// How long the supply of the source outlives the last change of the token.
    pub token_hold_s: f64,
    /// Travel of the switch of that supply.
    pub supply_travel_s: f64,
    /// Battery below which the source's supply drops.
    pub supply_drop_mv: u16,
    /// Battery at the start.
    pub supply_mv: u16,
    /// No-load voltage of the continuity source.
    pub continuity_volts: f64,
    /// Limit of the continuity current, both ways.
    pub continuity_amps: f64,
    /// Series resistance of the continuity path, its limiter below the limit.
    pub continuity_ohms: f64,
    /// Forward voltage of the freewheel diodes.
    pub freewheel_volts: f64,
    /// The fuse that every drive goes through.
    pub fuse_ohms: f64,
    /// Current-sense resistor, after the dividers.
    pub sense_ohms: f64,
    /// Resistance of the pair of leads.
    pub lead_ohms: f64,
    /// Discharge resistor.
    pub discharge_ohms: f64,
    /// Delay of the discharge switch.
    pub discharge_delay_s: f64,
    /// Resistance by which the instrument hangs on the ground of the circuit.
    pub ground_ohms: f64,
    /// Stray capacitance of the instrument to ground; 0: none, which saves a state.
    pub ground_farads: f64,
    /// Noise of each voltage channel, rms.
    pub noise_volts: f64,
    /// Noise of the current channels, codes rms.
    pub noise_current_codes: f64,
    /// Noise of the low-voltage channel, codes rms.
    pub noise_low_codes: f64,
    /// How long a change of the current range disturbs the reading.
    pub range_settle_s: f64,
}

impl Default for FrontEndParams {
    fn default() -> Self {
        Self {
            divider_top_ohms: 100.0e3,
            divider_bottom_ohms: 3.9e6,
            filter_hertz: 2_000.0,
            bias_amps: 40.0e-6,
            regulator_siemens: 1.0e-3,
            limit_amps: 1.8e-3,
            output_farads: 5.0e-9,
            bleed_ohms: 100.0e6,
            series_ohms: 1.0e3,
            ripple_volts: 0.0,
            ripple_hertz: 100.0,
            relay_travel_s: 6.0e-3,
            relay_bounce_s: 0.0,
            gate_delay_s: 0.2e-3,
            token_hold_s: 20.0e-3,
            supply_travel_s: 5.0e-3,
            supply_drop_mv: 4_000,
            supply_mv: 6_000,
            continuity_volts: 5.0,
            continuity_amps: 0.21,
            continuity_ohms: 0.5,
            freewheel_volts: 0.7,
            fuse_ohms: 0.05,
            sense_ohms: 1.0,
            lead_ohms: 0.1,
            discharge_ohms: 100.0e3,
            discharge_delay_s: 0.1e-3,
            ground_ohms: 1.0e12,
            ground_farads: 0.0,
            noise_volts: 0.35,
            noise_current_codes: 0.3,
            noise_low_codes: 1.0,
            range_settle_s: 5.0e-3,
        }
    }
}

impl FrontEndParams {
    /// Gives the factor from the voltage across a divider's lower resistor to the terminals'.
    #[must_use]
    pub fn divider_ratio(&self) -> f64 {
        (self.divider_top_ohms + self.divider_bottom_ohms) / self.divider_bottom_ohms
    }

    /// Gives what the proving bias moves each voltage channel by, in volts at the terminals.
    #[must_use]
    pub fn bias_volts(&self) -> f64 {
        let (top, bottom) = (self.divider_top_ohms, self.divider_bottom_ohms);
        self.bias_amps * top * bottom / (top + bottom) * self.divider_ratio()
    }

    /// Gives the conductance of both dividers together.
    #[must_use]
    pub fn input_siemens(&self) -> f64 {
        2.0 / (self.divider_top_ohms + self.divider_bottom_ohms)
    }
}
