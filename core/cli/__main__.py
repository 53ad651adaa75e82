"""``python -m core.cli`` from a checkout is the same as ``rillbook`` of an installation."""

from core.cli import main

if __name__ == "__main__":
    main(prog_name="rillbook")
