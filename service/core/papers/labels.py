"""Labels to cut out: one for each tray, drawer or box of a transfer, with a QR code that leads to the lot."""

from collections.abc import Iterator

from service.core.care.cautions import LEAVES_NOTHING
from service.core.errors import Conflict
from service.core.materials import plainly
from service.core.papers.content import Content, Label, Labels, content
from service.core.papers.file import TransferFile
from service.core.papers.parts import line_cells
from service.core.transfers.lines import Counted, Line

#: More labels than anybody prints at once; a line that names more containers is a slip of the pen.
MOST_LABELS = 2_000


def labels(file: TransferFile) -> Content:
    """The labels of all lines.

    :raises Conflict: when there would be more than ``MOST_LABELS``.
    """
    wanted = sum(containers_of(line) for line in file.transfer.lines)
    if wanted > MOST_LABELS:
        raise Conflict("paper_too_long", f"That would be {wanted} labels; one paper has {MOST_LABELS} at most.")
    made = tuple(label for line in file.transfer.lines for label in _labels_of(file, line))
    return content("Labels", file.about, Labels("To cut out", made))


def containers_of(line: Line) -> int:
    """How many things of a line get a label: what it travels in, what is counted, or the lot itself."""
    if line.storage is not None:
        return line.storage_count or 1
    return 1 if line.counted is Counted.SPECIMEN else line.count


def lot_address(file: TransferFile, line: Line) -> str:
    """Where the service tells of the lot."""
    return f"{file.service}/v1/transfers/{file.transfer.key}/lines/{line.key}"


def _care(line: Line) -> str:
    """What was used on the lot, as far as a label has room: the whole is said on the papers."""
    if line.treatments_used is None:
        return "Past treatment unknown: gloves, no dust"
    used = [plainly(one) for one in sorted(set(line.treatments_used) - LEAVES_NOTHING)]
    return f"Treated: {', '.join(used)}; gloves, no dust" if used else ""


def _labels_of(file: TransferFile, line: Line) -> Iterator[Label]:
    many = containers_of(line)
    thing = (line.storage or line.counted).replace("_", " ")
    _, _, preparation, of_type, numbers, count = line_cells(line)
    for number in range(1, many + 1):
        which = f"{thing} {number} of {many}" if many > 1 else thing
        whole = f"{count} in all, {which}" if many > 1 else f"{count}, {which}"
        said = (whole, ", ".join(part for part in (preparation, of_type, line.tray or "") if part), numbers)
        about = f"{file.code}, line {line.key}: {file.transfer.lender.name}"
        told = (*(part for part in said if part), _care(line), about)
        yield Label(
            f"line {line.key}, {number}",
            line.taxon or line.remarks or f"line {line.key}",
            tuple(part for part in told if part),
            lot_address(file, line),
        )
