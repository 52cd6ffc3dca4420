"""The commands of `fairlead`, each a file that holds one click command named `command`."""
