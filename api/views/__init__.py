"""The views, one module for what belongs together."""
