//! buildfile
