"""Tables of cells to files people keep, and files people kept to rows of text."""
