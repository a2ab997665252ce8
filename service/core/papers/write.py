"""One table: which paper is written by what."""

from collections.abc import Callable, Mapping

from service.core.papers.agreement import agreement
from service.core.papers.cites_label import cites_label
from service.core.papers.content import Content, PaperKind
from service.core.papers.file import TransferFile
from service.core.papers.labels import labels
from service.core.papers.lists import receipt, return_note, specimen_list
from service.core.papers.parcel_text import parcel_text

_WRITERS: Mapping[PaperKind, Callable[[TransferFile], Content]] = {
    PaperKind.AGREEMENT: agreement,
    PaperKind.SPECIMEN_LIST: specimen_list,
    PaperKind.RECEIPT: receipt,
    PaperKind.RETURN_NOTE: return_note,
    PaperKind.PARCEL_TEXT: parcel_text,
    PaperKind.CITES_LABEL: cites_label,
    PaperKind.LABELS: labels,
}


def paper_of(kind: PaperKind, file: TransferFile) -> Content:
    """What stands on a paper of this kind, as the file is now.

    :raises Conflict: when the transfer is not so far, or has no use for the paper.
    """
    return _WRITERS[kind](file)
