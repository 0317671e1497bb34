"""The two ways in which the program says no. Each message says where, what was given, what is allowed, what to do."""

NO_MEMORY = "This machine has too little free memory for that. Close other programs and try again."


class StandrowError(Exception):
    """Any message meant for the user; `exit_code` is what the command ends with."""

    exit_code = 1


class Refused(StandrowError):
    """It cannot be done now: a file is in use, damaged, newer, or a measure is not on record."""

    exit_code = 1


class BadInput(StandrowError):
    """What was given cannot be used: a faulty file, value, option."""

    exit_code = 2


class Damaged(Refused):
    """The file of the records is damaged or is none; a backup can be restored in its place."""
