"""`python -m curetrack` is the same as `curetrack`."""

from curetrack.cli.main import entry

if __name__ == "__main__":
    entry()
