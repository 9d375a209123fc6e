//! The standard output: in which format, and as long as somebody reads it.

use std::io::{ErrorKind, Result, Write};

use clap::ValueEnum;

/// For whom an answer is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    Human,
    Json,
}

/// A writer that goes on quietly once its reader has gone away: the exit code still tells what came
/// out, and nobody wants to hear that `head` had enough.
#[derive(Debug)]
pub(crate) struct Patient<W> {
    inner: W,
    gone: bool,
}

impl<W: Write> Patient<W> {
    /// Writes to `inner` while it is read.
    pub(crate) const fn new(inner: W) -> Self {
        Self { inner, gone: false }
    }

    fn patiently<T>(&mut self, otherwise: T, write: impl FnOnce(&mut W) -> Result<T>) -> Result<T> {
        if self.gone {
            return Ok(otherwise);
        }
        match write(&mut self.inner) {
            Err(error) if error.kind() == ErrorKind::BrokenPipe => {
                self.gone = true;
                Ok(otherwise)
            }
            result => result,
        }
    }
}

impl<W: Write> Write for Patient<W> {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        self.patiently(bytes.len(), |inner| inner.write(bytes))
    }

    fn flush(&mut self) -> Result<()> {
        self.patiently((), Write::flush)
    }
}

#[cfg(test)]
mod tests {
    use std::io::Error;

    use super::*;

    struct Closed(ErrorKind);

    impl Write for Closed {
        fn write(&mut self, _: &[u8]) -> Result<usize> {
            Err(Error::from(self.0))
        }

        fn flush(&mut self) -> Result<()> {
            Err(Error::from(self.0))
        }
    }

    #[test]
    fn a_reader_that_has_gone_is_no_error_and_a_full_disk_is() {
        let mut gone = Patient::new(Closed(ErrorKind::BrokenPipe));
        assert!(writeln!(gone, "text").is_ok());
        assert!(gone.flush().is_ok());
        let mut full = Patient::new(Closed(ErrorKind::StorageFull));
        assert!(writeln!(full, "text").is_err());
    }
}
