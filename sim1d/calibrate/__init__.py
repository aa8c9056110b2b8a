"""Bench and driveway readings in, a fitted car out: statics first, then flow, then heat."""
