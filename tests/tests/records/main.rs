//! Goal: what is kept comes back as it was, or not at all, and never as something else.
//!
//! Method: any record there can be is drawn, written, read again; any of its bits are turned over;
//! bytes are sealed anew round contents that no record can have. Check word and byte stuffing are
//! checked against other implementations and the definitions. A store on a simulated flash loses
//! its power at every step of a story, and once more while it recovers.

mod any;
mod crc;
mod cut;
mod damage;
mod files;
mod round;
mod serde;
mod store;
mod wire;
