//! The bar map through its public interface.

mod cross;
mod energy;
mod low;
mod low_trial;
mod maps;
mod sound;
