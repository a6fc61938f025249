"""``python -m labelkit``: the same as the ``labelkit`` command."""

from labelkit.cli import main

if __name__ == "__main__":
    main()
