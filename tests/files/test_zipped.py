"""A ZIP is taken apart in memory: what is damaged, locked or would swell up is refused with a reason."""

import io
import zipfile

import pytest

from analytics.errors import BadInput
from analytics.files import text_tables
from analytics.files.importing import bring_in, faults_text
from analytics.files.text_tables import read_all, read_files
from analytics.files.zipped import unpacked
from analytics.records.tables import TABLES
from analytics.storage.database import read_table
from tests.prepared import begun

LARGEST = 10_000_000
FARM = {
    "fields.csv": "field\nNorth\n",
    "plots.csv": "crop_year,field,plot,method\n2025,North,a,standing\n",
    "loads.csv": "crop_year,field,plot,ticket\n2025,North,a,1\n",
}


def zipped(files: dict[str, str | bytes]) -> bytes:
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as pack:
        for name, content in files.items():
            pack.writestr(name, content)
    return whole.getvalue()


def test_a_zip_of_csv_files_is_brought_in_like_a_folder(tmp_path):
    file = tmp_path / "farm.zip"
    file.write_bytes(zipped({f"season/{name}": content for name, content in FARM.items()}))
    with begun(tmp_path / "records.duckdb") as connection:
        assert faults_text(bring_in(connection, file, done_by="test")) == ""
        assert read_table(connection, "loads")["ticket"].to_list() == ["1"]


def test_other_files_stand_beside_a_zip():
    found = unpacked([("a.zip", zipped({"fields.csv": "field\n"})), ("plots.csv", b"x")], largest_bytes=LARGEST)
    assert found == [("fields.csv", b"field\n"), ("plots.csv", b"x")]


def test_a_name_in_a_zip_cannot_leave_its_folder():
    pack = zipped({"../../fields.csv": "field\n", "/etc/plots.csv": "x"})
    assert [name for name, _ in unpacked([("a.zip", pack)], largest_bytes=LARGEST)] == ["fields.csv", "plots.csv"]


def test_what_would_unpack_to_too_much_is_refused_whether_its_names_are_known_or_not(monkeypatch):
    monkeypatch.setattr(text_tables, "LARGEST_BYTES", 20_000_000)
    bomb = zipped({"fields.csv": bytes(30_000_000)})
    monkeypatch.setattr(zipfile.ZipFile, "open", None)  # nothing of it is unpacked
    for read in (lambda files: read_files(files, TABLES), read_all):
        with pytest.raises(BadInput, match="would unpack to 30 MB; allowed 20 MB"):
            read([("farm.zip", bomb)])


def test_the_limit_is_what_is_allowed_and_not_a_byte_more():
    dice = bytes(range(256)) * 100
    pack = zipped({"fields.csv": dice})
    assert unpacked([("a.zip", pack)], largest_bytes=len(dice)) == [("fields.csv", dice)]
    with pytest.raises(BadInput, match="would unpack"):
        unpacked([("a.zip", pack)], largest_bytes=len(dice) - 1)


def test_a_part_that_lies_about_its_size_is_refused():
    pack = bytearray(zipped({"fields.csv": b"x" * 5000}))
    for at in (pack.find(b"PK\x03\x04") + 22, pack.find(b"PK\x01\x02") + 24):
        pack[at : at + 4] = (10).to_bytes(4, "little")
    with pytest.raises(BadInput, match="is damaged"):
        unpacked([("a.zip", bytes(pack))], largest_bytes=LARGEST)


@pytest.mark.parametrize("length", [0, 1, 30, 100, -1])
def test_a_zip_cut_short_is_refused(length):
    with pytest.raises(BadInput, match="is damaged"):
        unpacked([("a.zip", zipped(FARM)[:length])], largest_bytes=LARGEST)


def test_flipped_bytes_are_refused_or_leave_every_file_found_as_it_was():
    pack = zipped(FARM)
    for at in range(len(pack)):
        broken = pack[:at] + bytes([pack[at] ^ 0xFF]) + pack[at + 1 :]
        try:
            found = dict(unpacked([("a.zip", broken)], largest_bytes=LARGEST))
        except BadInput:
            continue
        assert {content.decode() for content in found.values()} <= set(FARM.values()), at
