"""Debian packages that are compared with: downloaded and unpacked beside the build, never installed, so that no
service of theirs is started."""
import subprocess


def unpacked(context, package, program):
    """The path of a program of the package, and None; or None and why not."""
    place = context.peers / package
    path = place / program
    if path.exists():
        return path, None
    place.mkdir(parents=True, exist_ok=True)
    try:
        subprocess.run(["apt-get", "-q", "download", package], cwd=place, check=True, capture_output=True, timeout=300)
        archive = max(place.glob("*.deb"), key=lambda file: file.stat().st_mtime)
        subprocess.run(["dpkg", "-x", archive, place], check=True, capture_output=True)
        archive.unlink()
    except (OSError, subprocess.SubprocessError, ValueError) as failure:
        words = getattr(failure, "stderr", None)
        return None, f"{package} cannot be had: {(words.decode().strip() if words else failure)}"
    return (path, None) if path.exists() else (None, f"{package} has no {program}")
