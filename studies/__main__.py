"""`python -m studies` is the `studies` command."""

from studies.cli import main

main()
