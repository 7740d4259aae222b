"""Runs the command line as ``python -m portgeom_cli``."""

from .main import main

main()
