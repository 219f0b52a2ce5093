"""`python -m kit.cli`."""

from kit.cli import main

if __name__ == "__main__":
    main()
