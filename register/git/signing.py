"""Signing a manifest with an SSH key, and telling whose signature one is.

It proves who made a file and that it is unaltered; not that what it tells is true. The exit
code of ssh-keygen decides, never its words: with a wrong key it still says "Good signature".
"""

from __future__ import annotations

import shutil
import subprocess
from base64 import b64decode
from pathlib import Path

from register.trouble import Exit, RegisterError

NAMESPACE = "tailsheaf-handover"
WHO = "sender"
_LONGEST = 60


def sign_manifest(manifest: Path, key: Path) -> Path:
    """Sign a file with a private key (or the public half of one an agent holds).

    Returns the signature's path. Raises RegisterError: CANNOT_RUN without ssh-keygen, USAGE
    where the key cannot sign.
    """
    made = _run(["-Y", "sign", "-q", "-f", str(key), "-n", NAMESPACE, str(manifest)])
    if made.returncode != 0:
        raise RegisterError(
            f"{key.name} cannot sign: {_words(made.stderr)}",
            mend="name a private SSH key:  --sign ~/.ssh/id_ed25519",
            exit_code=Exit.USAGE,
            code="key-bad",
        )
    return manifest.with_name(manifest.name + ".sig")


def read_public_key(name: str, data: bytes) -> bytes:
    """The one line of a public key file that holds the key: its kind and itself (RFC 4253, 6.6).

    Raises RegisterError (USAGE `key-bad`) where there is none, so that nobody takes a wrong
    file for a wrong signature.
    """
    if b"PRIVATE KEY" in data[:200]:
        says = f"{name} is a private key, which nobody needs to see; a public one ends in .pub"
        raise _no_key(says)
    for line in data.splitlines():
        words = line.split()
        if len(words) < 2 or line.startswith(b"#"):
            continue
        try:
            whole = b64decode(words[1], validate=True)
        except ValueError:
            continue
        fields = _split_key(whole)
        if len(fields) > 1 and fields[0] == words[0]:
            return b" ".join(words[:2])
    raise _no_key(f"{name} holds no public SSH key")


def _split_key(whole: bytes) -> list[bytes]:
    """The fields of a key, each behind its length in four bytes; none where they do not add up."""
    fields = []
    at = 0
    while at < len(whole):
        length = int.from_bytes(whole[at : at + 4], "big")
        fields.append(whole[at + 4 : at + 4 + length])
        at += 4 + length
    return fields if at == len(whole) else []


def _no_key(says: str) -> RegisterError:
    return RegisterError(
        says,
        mend="name the sender's public key, one line in a file:  --key sender.pub",
        exit_code=Exit.USAGE,
        code="key-bad",
    )


def is_signed_by(manifest: bytes, signature: Path, public_key: bytes, folder: Path) -> bool:
    """Whether the holder of a public key (one line of a .pub file) signed the manifest.

    `folder` is a scratch folder for the list of allowed signers that ssh-keygen wants.
    """
    words = public_key.split()
    if len(words) < 2:
        return False
    allowed = folder / "signers"
    line = b'%s namespaces="%s" %s %s\n' % (
        WHO.encode(),
        NAMESPACE.encode(),
        words[0],
        words[1],
    )
    from register.storage.scratch import write_scratch

    write_scratch(folder, allowed.name, line)
    command = ["-Y", "verify", "-f", str(allowed), "-I", WHO, "-n", NAMESPACE, "-s", str(signature)]
    return _run(command, manifest).returncode == 0


def fingerprint_of(signature: Path, manifest: bytes) -> str | None:
    """The fingerprint of the key that made a signature, if the signature holds; else None."""
    command = ["-Y", "check-novalidate", "-n", NAMESPACE, "-s", str(signature)]
    said = _run(command, manifest)
    if said.returncode != 0:
        return None
    found = [word for word in said.stdout.split() if word.startswith(b"SHA256:")]
    return found[-1].decode("ascii", "replace") if found else "SHA256:?"


def _run(args: list[str], stdin: bytes = b"") -> subprocess.CompletedProcess[bytes]:
    program = shutil.which("ssh-keygen")
    if program is None:
        raise RegisterError(
            "ssh-keygen is not installed, and a signature needs it",
            mend="install OpenSSH's client, or leave the signature out",
            exit_code=Exit.CANNOT_RUN,
            code="no-ssh-keygen",
        )
    try:
        return subprocess.run(
            [program, *args], input=stdin, capture_output=True, timeout=_LONGEST, check=False
        )
    except (subprocess.TimeoutExpired, OSError) as error:
        raise RegisterError(
            "ssh-keygen did not answer",
            mend="try it by hand, or leave the signature out",
            exit_code=Exit.CANNOT_RUN,
            code="no-ssh-keygen",
        ) from error


def _words(said: bytes) -> str:
    lines = said.decode("utf-8", "replace").strip().splitlines()
    return "".join(
        char for char in (lines[-1] if lines else "no reason given") if char.isprintable()
    )
