"""The command line, a thin shell over the shop. Each command is a module of its own, imported when it is called."""
