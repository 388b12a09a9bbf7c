"""What the commands share: options, and reading what was typed.

In: words from the command line. Out: checked values. Read `hints`, then whichever you need.
"""
