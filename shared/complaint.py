"""The one error a user may see: what came, what is allowed, what to type."""


class Complaint(ValueError):
    """Bad input, reported in one clear sentence.

    Every room raises it for input that a person can fix; the command line prints it
    and exits with 2. Anything else that escapes is a fault of ours.
    """
