"""``python -m steadyhead`` does what the command does."""

from steadyhead.cli import main

main()
