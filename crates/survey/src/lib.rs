//! From files to features: finds the files, measures them in parallel, sums the session.
