"""Calibration tests reach the made-up readings beside them."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
