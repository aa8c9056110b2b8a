"""Laws broken on purpose, one at a time: which test notices."""
