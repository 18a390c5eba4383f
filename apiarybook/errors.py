"""What can go wrong, each as one sentence for a person; every class is also the built-in that a caller expects."""

import errno
import os


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


_SYSTEM = {
    errno.EEXIST: "something else of that name stands there",
    errno.ENOTDIR: "a file stands where a folder should be",
    errno.EISDIR: "a folder stands where a file should be",
    errno.ENOENT: "the folder does not exist",
    errno.EACCES: "the computer does not allow it",
    errno.EPERM: "the computer does not allow it",
    errno.EROFS: "nothing may be written there",
    errno.ENOSPC: "the disk is full",
    errno.ENAMETOOLONG: "the name is too long",
}


def in_words(fault: OSError) -> str:
    """What the system said is wrong, in words that need no computer lessons.

    >>> in_words(OSError(errno.ENOSPC, "No space left on device"))
    'the disk is full'
    """
    return _SYSTEM.get(fault.errno or 0) or fault.strerror or (os.strerror(fault.errno) if fault.errno else str(fault))
