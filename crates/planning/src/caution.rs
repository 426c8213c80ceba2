/// Something the crew must mind. Local rules and the remote pilot decide.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Stable name for scripts.
    pub id: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// For people.
    pub text: String,
}

/// How grave a caution is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Always worth a thought.
    Reminder,
    /// Something in this plan calls for a check before flying.
    Check,
    /// As planned it breaks a stated limit.
    Limit,
}
