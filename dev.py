#!/usr/bin/env python3
"""Set up, try, test, check and measure steadyhead.

    python3 dev.py demo               set up and run the main job on an example
    python3 dev.py test [ARGS]        run the tests; ARGS go to pytest
    python3 dev.py check              format, lint, types, import layers, manual
    python3 dev.py bench [NAME]       measure, never part of a test
    python3 dev.py campaign NAME      run one campaign at full size and write its evidence

Needs Python 3.11 or newer and nothing else: the rest goes into `.venv` beside this file.
"""

import sys

OLDEST = (3, 11)

if sys.version_info < OLDEST:
    sys.exit(
        "dev.py: this is Python %d.%d; steadyhead needs %d.%d or newer.\n"
        "Run the same command with a newer one, for example: python3.11 dev.py demo"
        % (sys.version_info[:2] + OLDEST)
    )

from devtools.main import main

sys.exit(main(sys.argv[1:]))
