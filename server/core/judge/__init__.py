"""The judge: one small pure function for each kind of deviation (contract section 5)."""
