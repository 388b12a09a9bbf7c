"""``python -m stackline``: the same as the command."""

from stackline.cli import main

if __name__ == "__main__":
    main()
