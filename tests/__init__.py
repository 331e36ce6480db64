"""Checks of hubheld. `python3 -m tests` sets everything up and runs them all."""
