"""`python -m sim1d`: the command line."""

from sim1d.cli import main

main()
