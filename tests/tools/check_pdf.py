#!/usr/bin/env python3
"""Check PDF files with readers and validators that are not ours.

    tests/tools/check_pdf.py FILE...

Each file goes through: the PDF/A rules of pikepdf (2b, or 3b with an attachment), the PDF/UA-1 checks
of pdfua, qpdf, mutool and ghostscript (every page drawn), poppler (text, structure, fonts), and the
equality of what the text extractors of two libraries read. Exits 1 with the complaints.

Needs: pip install 'pikepdf[pdfa]' pdfua; apt install qpdf poppler-utils mupdf-tools ghostscript.
"""

import re
import subprocess
import sys

import pdfua
import pikepdf
import pikepdf.pdfa


def run(*command):
    return subprocess.run(command, capture_output=True, text=True, errors="replace")


def complaints(path):
    """Everything that is wrong with one file, a line each."""
    try:
        yield from faults(path)
    except pikepdf.PdfError as fault:
        yield f"cannot be read: {fault}"


def faults(path):
    with pikepdf.open(path) as pdf:
        attached = "/AF" in pdf.Root
        pages = len(pdf.pages)
        language = str(pdf.Root.get("/Lang", ""))
        tagged = bool(pdf.Root.get("/MarkInfo", {}).get("/Marked", False))
    flavour = "3b" if attached else "2b"
    report = pikepdf.pdfa.validate_written(path, flavour)
    if not report.passed:
        yield f"PDF/A-{flavour}: not approved"
    for finding in report.findings:
        yield f"PDF/A-{flavour}: {finding.rule} {finding.where}: {finding.message}"
    for finding in pdfua.validate(path).findings:
        # The files make no claim of PDF/UA: not all of its rules can be checked by machine.
        if finding.rule_id != "UA-28-004":
            yield f"PDF/UA: {finding.rule_id} {finding.severity.name}: {finding.message}"
    if not language or not tagged:
        yield "not tagged, or without a language"

    for command in (
        ["qpdf", "--check", path],
        ["mutool", "draw", "-q", "-F", "png", "-r", "36", "-o", "/dev/null", path],
        ["gs", "-q", "-dNOPAUSE", "-dBATCH", "-dPDFSTOPONWARNING", "-sDEVICE=nullpage", path],
        ["pdftotext", path, "-"],
        ["pdfinfo", "-struct", path],
    ):
        result = run(*command)
        result.stderr = result.stderr.replace("warning: ICC support is not available", "")
        if result.returncode or re.search(r"\b(error|warning)s?\b(?! that qpdf cannot)", result.stderr, re.I):
            yield f"{command[0]}: exit {result.returncode} {result.stderr.strip()[:400]}"

    for line in run("pdffonts", path).stdout.splitlines()[2:]:
        if line.split()[-5:-2] != ["yes", "yes", "yes"]:
            yield f"font not embedded, not subset or without characters: {line}"

    poppler = run("pdftotext", "-raw", path, "-").stdout
    mupdf = run("mutool", "draw", "-q", "-F", "txt", path).stdout
    if "\ufffd" in poppler + mupdf:
        yield "a character without meaning in the extracted text"
    if sorted("".join(poppler.split())) != sorted("".join(mupdf.split())):
        yield "two extractors read different text"
    # Poppler draws the page anew for each element, so long files would take minutes here.
    if pages <= 20:
        structured = "".join(re.findall(r'^ +"(.*)"$', run("pdfinfo", "-struct-text", path).stdout, re.M))
        missing = set("".join(poppler.split())) - set(structured)
        if not structured or missing:
            yield f"characters on the page but not in the structure: {sorted(missing)}"


def main(paths):
    if not paths:
        sys.exit(__doc__)
    wrong = 0
    for path in paths:
        found = list(complaints(path))
        wrong += bool(found)
        print(f"{path}: {'clean' if not found else f'{len(found)} complaints'}")
        for complaint in found:
            print(f"  {complaint}")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main(sys.argv[1:])
