"""A file system of its own on a loop device, so that its block device counts what is written by us alone."""
import contextlib
import os
import subprocess
import tempfile


@contextlib.contextmanager
def loop_mounted(megabytes):
    """The directory of an ext4, or None with the reason where none can be had (it needs root and a loop device)."""
    with tempfile.TemporaryDirectory(prefix="coilward-bench.") as place:
        image, mounted = os.path.join(place, "image"), os.path.join(place, "disk")
        os.mkdir(mounted)
        why = None
        try:
            with open(image, "wb") as file:
                file.truncate(megabytes << 20)
            subprocess.run(["mkfs.ext4", "-q", "-F", "-E", "lazy_itable_init=0,lazy_journal_init=0", image],
                           check=True, capture_output=True)
            subprocess.run(["mount", "-o", "loop", image, mounted], check=True, capture_output=True)
        except (OSError, subprocess.CalledProcessError) as failure:
            words = getattr(failure, "stderr", b"") or str(failure).encode()
            why = words.decode().strip()
        if why:
            yield None, why
            return
        try:
            yield mounted, None
        finally:
            subprocess.run(["umount", mounted], check=False)
