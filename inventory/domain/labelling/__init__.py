"""Labels: what each says, on which sheet, on which printer; photos of labels and bags."""
