"""What Celery's beat asks for every minute, in rooms that run on more than one machine."""

from celery import shared_task

from shop.jobs import registry


@shared_task(name="shop.jobs.tasks.run_due")
def run_due() -> None:
    """Run the jobs that are due. Safe twice: the row for each job and period lets one of them run it."""
    registry.run_due()
