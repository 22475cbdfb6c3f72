"""What Celery does in rooms that run on more than one machine: what is due every minute, and what is wanted soon."""

from celery import shared_task

from shop.jobs import registry


@shared_task(name="shop.jobs.tasks.run_due")
def run_due() -> None:
    """Run the jobs that are due. Safe twice: the row for each job and period lets one of them run it."""
    registry.run_due()


@shared_task(name="shop.jobs.tasks.run_one")
def run_one(name: str) -> None:
    """Run one job now; see shop.jobs.soon."""
    registry.run_now(name)
