//! Measured behaviour against published signals and independent libraries.
