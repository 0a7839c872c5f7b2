"""`python -m airwork`."""

import sys

from airwork.cli import main

sys.exit(main())
