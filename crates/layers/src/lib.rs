//! The layers heard in a mix: what plays where in the bar.
