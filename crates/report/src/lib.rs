//! The written answer: drawings and a self-contained page.
