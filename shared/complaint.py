"""The one error a user may see: what came, what is allowed, what to type."""


class Complaint(ValueError):
    """Bad input, told in one clear sentence.

    Every room raises it for input that a person can mend; the command line prints it
    and exits with 2. Anything else that escapes is a fault of ours.
    """
