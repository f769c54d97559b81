"""Run dryfit as `python -m exports`."""

import sys

from exports.command import main

sys.exit(main())
