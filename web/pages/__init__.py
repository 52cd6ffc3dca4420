"""One file a screen: what HTTP asks, and the page or file that answers."""
