"""`python -m counterpane` is the command `counterpane`."""

from counterpane.cli import main

main()
