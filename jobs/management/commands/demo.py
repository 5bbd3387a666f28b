"""`manage.py demo`: the same as `serve`, with a made-up shop to look around in."""

from jobs import demo
from jobs.management.commands import serve


class Command(serve.Command):
    help = "Load the made-up shop, unless it is there, and run the site. It prints how to sign in and opens nothing."

    def before_serving(self) -> None:
        self.say("Loading the demo shop ...")
        self.sign_in_lines = demo.load()

    def announce(self, server: serve.Server, host: str) -> None:
        super().announce(server, host)
        self.say("")
        self.say("Sign in as")
        for line in self.sign_in_lines:
            self.say(f"    {line}")
