"""Where the program ``dartswing`` starts: with an answer even where a library is missing."""

from __future__ import annotations

import sys


def main() -> int:
    """Run the command line, or say what is missing for it, and return the exit status."""
    try:
        from extension.commands.command_line import main as command_line
    except ImportError:
        from extension.installing.doctor import answer_in_her_language, check_here

        answer_in_her_language()
        print(check_here().text(), file=sys.stderr)
        return 1
    return command_line()


if __name__ == "__main__":
    sys.exit(main())
