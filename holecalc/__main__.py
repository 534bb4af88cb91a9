"""``python -m holecalc`` is the ``holecalc`` command."""

import sys

from holecalc.cli import main

sys.exit(main())
