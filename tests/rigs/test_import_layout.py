"""The command that imports a layout."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from drills.engine.workbook import to_csv, to_xlsx, to_zip
from drills.rigs.models import Layout, Need, RevisionState
from tests.layouts import FIXTURES, practice_rig

pytestmark = pytest.mark.django_db


def run(*arguments: object) -> tuple[str, str]:
    out, err = StringIO(), StringIO()
    call_command("import_layout", *map(str, arguments), stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def test_stores_a_draft_and_says_so_last(tmp_path: Path) -> None:
    path = tmp_path / "rig.xlsx"
    path.write_bytes(to_xlsx(practice_rig()))

    out, _ = run(path)

    assert out.splitlines()[-1] == "practice-rig 1"
    assert Layout.objects.get().draft is not None


def test_says_what_came_in_and_how_it_ties_on_standard_error(tmp_path: Path) -> None:
    path = tmp_path / "rig.xlsx"
    path.write_bytes(to_xlsx(practice_rig()))
    Need.objects.create(key="gauze", name_us="Gauze roll", name_intl="Gauze roll")

    out, err = run(path)

    assert out == "practice-rig 1\n"
    assert (
        "9 compartments, 11 stock lines, 10 items: 1 tied to a need, 0 with a suggestion, "
        "9 with neither." in err
    )


def test_publishes_a_folder(tmp_path: Path) -> None:
    for name, content in to_csv(practice_rig()).items():
        (tmp_path / name).write_bytes(content)

    run(tmp_path, "--publish")

    published = Layout.objects.get().published
    assert published is not None
    assert published.state == RevisionState.PUBLISHED


def test_the_same_again_is_the_same_revision(tmp_path: Path) -> None:
    path = tmp_path / "rig.zip"
    path.write_bytes(to_zip(practice_rig()))

    assert run(path, "--publish")[0] == run(path, "--publish")[0] == "practice-rig 1\n"


def test_a_later_workbook_is_the_next_revision() -> None:
    run(FIXTURES / "layouts" / "mesa-box", "--publish")

    assert run(FIXTURES / "layouts" / "mesa-box-rev2", "--publish")[0] == "mesa-box 2\n"


def test_says_every_problem_and_stores_nothing(tmp_path: Path) -> None:
    for name, content in to_csv(practice_rig()).items():
        (tmp_path / name).write_bytes(content.replace(b"street", b"roof"))

    with pytest.raises(CommandError) as refused:
        run(tmp_path)

    assert refused.value.returncode == 1
    assert '"roof"' in str(refused.value)
    assert Layout.objects.count() == 0


def test_a_file_that_is_not_there_is_a_problem(tmp_path: Path) -> None:
    with pytest.raises(CommandError):
        run(tmp_path / "none.xlsx")
