"""Classification by GHS and the CLP regulation, rule by rule."""
