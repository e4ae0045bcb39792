//! One file a rule.
