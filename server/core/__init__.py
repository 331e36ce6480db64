"""Pure core: values in, values out. No clock, no randomness, no files, no network, no framework."""
