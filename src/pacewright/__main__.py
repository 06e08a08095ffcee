"""Run the command line by `python -m pacewright`."""

from pacewright.cli.main import main

main()
