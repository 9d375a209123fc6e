//! The caution that goes with everything this program says.

/// The whole of it, for `--help` and `explain`.
pub(crate) const LONG: &str = "\
Caution:
  This is training and development software round a decision core under test. It is no certified
  instrument and proves nothing about a real circuit.
  Isolate, lock off, then prove dead with a dedicated, proved voltage detector: a known source, the
  circuit, the known source again. 0 V here is no proof. Work on fixed wiring is for licensed or
  authorised persons under local rules.
  Two leads see only the difference between them: test every pair and each conductor to earth. A
  supply may return by itself: a second feed, a generator, a battery, the sun, a timer.
  Insulation testing puts a dangerous voltage on everything joined to the circuit. Warn others, keep
  hands off, disconnect electronics and arresters where the method says so.
  Do not take leads off or touch a conductor until the voltage reads safe and stays so; large cables
  and machines recharge themselves. Do not test in explosive atmospheres.
  A telephone line is tested only with its operator's leave. A solar string stays live by day.
  A passed number is a reading at one time, temperature and humidity; a qualified person judges it.
  If a warning, a lock or an unexplained reading appears, stop; do not bypass it.";

/// One line of it, for the foot of a report.
pub(crate) const SHORT: &str = "A simulation: it proves nothing about a real circuit. Isolate, \
    lock off, prove dead with a dedicated, proved detector; 0 V at two leads is no proof.";

/// One line for the foot of judged readings.
pub(crate) const ASSESSED: &str = "A judged number, nothing more: it does not show that a circuit \
    is dead, or may be touched or energised. Isolate, lock off, prove dead with a dedicated, proved \
    detector; local codes and a qualified person decide.";

/// The same for the foot of what is done at a bench.
pub(crate) const BENCH: &str = "Figures, no certificate: nothing here is traceable by itself, and \
    no conformity is claimed.\nReference voltages up to 1000 V are dangerous: qualified persons, \
    current-limited sources, hands off.";
