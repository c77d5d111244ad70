//! The bar map through its public interface.

mod cross;
mod energy;
mod low;
mod maps;
mod sound;
