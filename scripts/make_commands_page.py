"""Write docs/commands.md from the commands' own help: `python scripts/make_commands_page.py`.

The page and the program cannot drift apart: a test fails until this was run again.
"""

import sys
from pathlib import Path

import click

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from stackline.cli import commands  # noqa: E402

PAGE = ROOT / "docs" / "commands.md"
INTRODUCTION = """# Commands

Made from the program's own help by `scripts/make_commands_page.py`.
Exit codes: 0 done, 1 nothing heard, 2 bad input, 130 interrupted.
"""


def page() -> str:
    """The whole page as Markdown."""
    parts = [INTRODUCTION]
    root = click.Context(
        commands, info_name="stackline", max_content_width=96, **commands.context_settings
    )
    for name in commands.list_commands(root):
        parts.extend(_sections(commands.get_command(root, name), name, root))
    return "\n".join(parts)


def _sections(command: click.Command | None, name: str, parent: click.Context) -> list[str]:
    """A command's help, then those of its own commands."""
    assert command is not None, name
    context = click.Context(command, info_name=name, parent=parent, max_content_width=96)
    help_text = command.get_help(context)
    sections = [f"## {context.command_path}\n\n```text\n{help_text}\n```\n"]
    if isinstance(command, click.Group):
        for inner in command.list_commands(context):
            sections.extend(_sections(command.get_command(context, inner), inner, context))
    return sections


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote {PAGE.relative_to(ROOT)}")
