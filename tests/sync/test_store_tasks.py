"""Tasks in the store: kept as the fold makes them, whenever they come."""

from pathlib import Path

from sync.service import Draft, Service
from sync.verifying import verify
from tests.sync.phones import edition_of, service_at
from tests.sync.test_store_follows_fold import folded


def test_a_task_is_there_as_soon_as_work_on_it_is_written(tmp_path: Path) -> None:
    service = service_at(tmp_path / "backlog.db", edition_of(tmp_path / "fleet"))
    service.write(Draft("work", {"about": "otter/while-open/grease", "state": "in hand"}), by="AB")
    assert _states(service) == {"otter/while-open/grease": "in hand"}
    service.write(Draft("work", {"about": "otter/while-open/grease", "state": "signed off"}), by="AB")
    service.write(Draft("ruling", {"about": "otter/access/track-off", "set": {"know_how": "two bars"}}), by="AB")
    assert _states(service) == {"otter/while-open/grease": "signed off"}
    assert service.store.rulings("otter").know_how == (("otter/access/track-off", "AB", "two bars"),)
    assert service.store.state() == folded(service)
    assert verify(service.store).derived == ()
    service.store.close()


def _states(service: Service) -> dict[str, str]:
    return {task.about: task.state for task in service.store.tasks("otter")}
