"""The commented study that a new study file starts with; it runs as it stands."""

from pathlib import Path

STARTER = Path(__file__).with_suffix(".toml").read_text(encoding="utf-8")
"""Text of the starter study."""
