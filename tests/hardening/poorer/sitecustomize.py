"""A Python that lacks what only POSIX has: put this folder on PYTHONPATH, and each process of a
command begins with it.

Python's documentation says of each that it is there on Unix alone. What its own subprocess,
multiprocessing and NumPy call on this system (waitpid, SIGKILL, uname) has to stay.
"""

import os
import signal
import sys
from importlib.machinery import ModuleSpec

MODULES = {"crypt", "fcntl", "grp", "nis", "pty", "pwd", "resource", "syslog", "termios", "tty"}

FUNCTIONS = (
    "O_CLOEXEC O_DIRECTORY O_NOFOLLOW O_NONBLOCK chown chroot ctermid fchdir fchown fork "
    "forkpty getegid geteuid getgid getgroups getloadavg getpgid getpgrp getpriority getresuid "
    "getsid getuid killpg lchown lockf mkfifo mknod nice openpty posix_fadvise posix_fallocate "
    "pread preadv pwrite register_at_fork sched_getaffinity sched_setaffinity sendfile setegid "
    "seteuid setgid setgroups setpriority setregid setreuid setsid setuid statvfs sync "
    "wait wait3 wait4 waitid"
)

SIGNALS = (
    "SIGALRM SIGCHLD SIGCONT SIGHUP SIGPIPE SIGPROF SIGQUIT SIGSTOP SIGTSTP SIGUSR1 SIGUSR2 "
    "SIGXCPU SIG_BLOCK SIG_SETMASK SIG_UNBLOCK alarm getitimer pause pthread_kill "
    "pthread_sigmask setitimer siginterrupt sigpending sigtimedwait sigwait sigwaitinfo"
)


class Absent:
    """Finds none of those modules."""

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:
        """Raises ModuleNotFoundError for them; None, so that others look, for the rest."""
        del path, target
        if name in MODULES:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
        return None


sys.meta_path.insert(0, Absent())
for module in MODULES:
    sys.modules.pop(module, None)
for owner, names in ((os, FUNCTIONS), (signal, SIGNALS)):
    for name in names.split():
        if hasattr(owner, name):
            delattr(owner, name)
