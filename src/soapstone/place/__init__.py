"""Where each body sits, and every load it brings."""
