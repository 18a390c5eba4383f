"""Run the commands as ``python -m apiarybook``."""

from apiarybook.cli.commands import main

main()
