"""Command line: serve, evaluate a file, search the reference."""

from service.cli import main

if __name__ == "__main__":
    main()
