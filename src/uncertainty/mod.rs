//! Budgets, decision rules and repeatability studies.
