"""Command-line tests reach the synthetic dataset of the report tests."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "report"))
