"""The room's own server, to which it is the morning of these tests: `python -m tests.browser.serve`."""

import django

from tests.browser import WHEN


def main() -> None:
    django.setup()
    from shop.demo.standing import standing
    from shop.jobs import server

    server.prepare()
    import shop.wsgi  # not sooner: it looks through the static files as they are now

    shop.wsgi.application = standing(shop.wsgi.application, WHEN)  # type: ignore[assignment]
    server.serve("127.0.0.1:0")


if __name__ == "__main__":
    main()
