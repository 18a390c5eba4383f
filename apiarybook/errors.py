"""What can go wrong, each as one sentence for a person; every class is also the built-in that a caller expects."""


class ApiarybookError(Exception):
    """The base of all errors of this package; its text is one plain sentence."""


class HandbookError(ApiarybookError, ValueError):
    """A figure of the handbook lacks its unit, month or source, or contradicts itself."""


class LayoutError(ApiarybookError, ValueError):
    """A declaration of sheets and columns contradicts itself."""


class CannotRead(ApiarybookError, ValueError):
    """A file that cannot be read as a book."""


class CannotWrite(ApiarybookError, OSError):
    """A book that cannot be written where it should stand."""


class ProgramFault(ApiarybookError, RuntimeError):
    """A fault of this program, found by its own gate; nothing was written."""


class NotForThisRegion(ApiarybookError, ValueError):
    """A region or year for which the handbook has no figures."""
