//! Renders a session with its moves: pre-master, group stems, comparison pair.
