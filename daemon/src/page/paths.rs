//! The paths that more than one part of the page knows.

/// Where a browser presents the secret of its link.
pub(super) const ENTER: &str = "/page/enter";
/// Where a set-up is looked at that is not opened yet.
pub(super) const PLAN: &str = "/page/plan";
/// Where the options of a step are looked at that is not opened yet.
pub(super) const CHECK: &str = "/page/check";
