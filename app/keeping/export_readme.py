"""What stands in an export, told to whoever opens it years from now without this program."""

from __future__ import annotations

README = """\
Everything on record of {shop}, taken out of Seatwright on {at} UTC.

What is here
------------
lists/      Tables that any spreadsheet opens: jobs, customers, signed positions, holds, the price
            list, the size list, the crib. UTF-8 text, columns parted by commas; each length stands
            in inches and in millimetres. A cell that begins with = + - or @ has an apostrophe in
            front, so that no spreadsheet takes it for a formula.
sheets/     Every issued sheet as it was signed, one folder a job: any browser shows and prints it.
photos/     Every picture, named by the SHA-256 of its bytes. records/photo.jsonl says of which job,
            head or position it is.
records/    Everything, row by row, for a program that takes the record over. One file a table, one
            row a line, each line an object in JSON (UTF-8). Lengths are whole nanometres ("nm")
            with text in inches ("in") and millimetres ("mm"); times are UTC; amounts are
            in the smallest unit of the currency ({currency}). A column that ends in _id holds the
            "id" of a row in another file; where it is a person, their name stands beside it.
MANIFEST.sha256
            The SHA-256 of every other file here, as the usual checking programs read it.

How the records hang together
-----------------------------
A job has heads; a head has positions (port.jsonl); each try at one bore is a pass (port_pass.jsonl)
with its cuts, verifications, rings in and readings. Readings belong to sets (reading_set.jsonl)
that say what was read with which instrument; one that is named in reading_strike.jsonl no longer
counts. Accepted figures are in result.jsonl: "record" is the text that was frozen, with inputs and
working, and "sha256" is over that text exactly. What no longer stands is in no_longer_stands.jsonl.

event.jsonl is the log: who did what, when. Each event's "hash" is the SHA-256 of
    prev, a line end, the header, a line end, body
where the header is the JSON text of {{"about":[job_id,head_id,port_id],"at":"...","by":by_id,
"subject":[subject,subject_id],"verb":"..."}} with sorted keys, no spaces, ASCII; the first prev is
64 zeros. So a record that was changed later no longer fits. The log's head here is
    {head}

Left out, because it is of use to nobody else: PINs' hashes, sign-ins, wrong PINs, keys of programs,
and what searching keeps for itself. The lists hold names and numbers of customers: keep this file
as carefully as the records.
{missing}"""

MISSING = """
Not found when this was written: {count} picture files that the records name:
{names}
"""
