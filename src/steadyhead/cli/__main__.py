"""``python -m steadyhead.cli`` does what the command does."""

from steadyhead.cli import main

main()
