"""Sets hubheld up on a bare machine and fills it with an invented unit."""
