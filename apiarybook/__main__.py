"""Run the commands as ``python -m apiarybook``."""

from apiarybook.cli import main

main()
