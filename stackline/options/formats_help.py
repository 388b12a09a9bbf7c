"""A command whose help lists every format that a take can be written in.

The list is the table of `outputs`, read when help is asked for: a command that only
runs does not wait for the renderers to load.
"""

import click


class CommandWithFormats(click.Command):
    """A command with a ``--formats`` option."""

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The formats, each with what it is for."""
        from stackline.report.outputs import FORMATS

        with formatter.section("Formats"):
            formatter.write_dl([(name, one.purpose) for name, one in FORMATS.items()])
        super().format_epilog(ctx, formatter)
