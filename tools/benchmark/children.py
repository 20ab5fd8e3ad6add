"""Programs run and watched: what they use of the processor, summed over their threads, from the kernel's counts."""
import os
import resource
import socket
import subprocess
import time


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


def run_counted(command, **options):
    """Runs to the end; (stdout, processor seconds of it and its children, wall seconds)."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    began = time.monotonic()
    done = subprocess.run([str(word) for word in command], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **options)
    wall = time.monotonic() - began
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode != 0:
        raise RuntimeError(f"{' '.join(map(str, command))}: {done.stderr.strip()[-400:]}")
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return done.stdout, cpu, wall


def values_of(text):
    """Lines of "name value" as a dictionary."""
    return {name: float(value) for name, value in (line.split() for line in text.splitlines() if line)}


class Watched:
    """A program in the background."""

    def __init__(self, command, ready=None, **options):
        self.process = subprocess.Popen([str(c) for c in command], stdout=subprocess.PIPE, text=True,
                                        stderr=options.pop("stderr", subprocess.DEVNULL), **options)
        if ready:
            line = self.process.stdout.readline()
            if ready not in line:
                raise RuntimeError(f"{command[0]} said {line!r} instead of {ready!r}")

    def tasks(self, name):
        base = f"/proc/{self.process.pid}/task"
        for task in os.listdir(base):
            try:
                with open(f"{base}/{task}/{name}") as file:
                    yield file.read()
            except FileNotFoundError:
                pass  # a thread that just ended

    def cpu(self):
        """Processor seconds so far (schedstat: nanoseconds, of threads that live)."""
        return sum(int(text.split()[0]) for text in self.tasks("schedstat")) / 1e9

    def switches(self):
        """How often its threads went to sleep, and so woke up, so far."""
        return sum(int(line.split()[1]) for text in self.tasks("status") for line in text.splitlines()
                   if line.startswith("voluntary_ctxt_switches"))

    def memory_mb(self, field="VmRSS"):
        with open(f"/proc/{self.process.pid}/status") as file:
            return next(int(line.split()[1]) for line in file if line.startswith(field)) / 1024

    def until_quiet(self, seconds=1.0, below=0.02, limit=120):
        """Waits until it uses less than `below` of a processor for so long; its processor seconds then."""
        end = time.monotonic() + limit
        used = self.cpu()
        while time.monotonic() < end:
            time.sleep(seconds)
            now = self.cpu()
            if now - used < below * seconds:
                return used
            used = now
        raise RuntimeError(f"process {self.process.pid} does not come to rest")

    def stop(self):
        """Its last words."""
        self.process.terminate()
        try:
            words, _ = self.process.communicate(timeout=15)
        except subprocess.TimeoutExpired:
            self.process.kill()
            words, _ = self.process.communicate()
        return words or ""

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.stop()
