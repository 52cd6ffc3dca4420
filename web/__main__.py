"""`python -m web` is the command `fairlead`."""

from web.cli import main

main()
