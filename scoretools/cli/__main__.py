"""``python -m scoretools.cli``: the same as ``scoretools``."""

from scoretools.cli.main import run

if __name__ == "__main__":
    run()
