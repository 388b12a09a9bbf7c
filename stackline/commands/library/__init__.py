"""``stackline library``: takes over time, command by command.

In: options as typed. Out: tables and files. Read `library_group` (the group, and the library that
is asked for), then `takes_command` (add, edit, list, show, correct, remove), `search_command`,
`sound_command` (what of it can be heard) and `backup_command` (backup, restore, export).
"""

from stackline.commands.library import backup_command, search_command, sound_command, takes_command
from stackline.commands.library.library_group import library

__all__ = ["backup_command", "library", "search_command", "sound_command", "takes_command"]
