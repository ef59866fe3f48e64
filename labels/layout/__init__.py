"""Where each thing stands on a label, and each label on a page."""
