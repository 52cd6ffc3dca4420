"""Fairlead's shells: pages, live screens, storage, exports and commands around `scoring`."""
