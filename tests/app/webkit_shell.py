"""A window with WebKitGTK in it that keeps its data on disk and lets itself be driven; run by the system's Python.

`python3 webkit_shell.py --automation FOLDER [RATIO [CERTIFICATE]]`: RATIO is the share of the disk that one site may
fill; CERTIFICATE (PEM) is the one that "localhost" may show, for this WebKit takes no authority but the system's.
"""

import sys

import gi

gi.require_version("Gtk", "3.0")
gi.require_version("WebKit2", "4.1")
from gi.repository import Gio, Gtk, WebKit2  # noqa: E402 after the versions are said


def main(folder: str, ratio: float, certificate: str) -> None:
    data = WebKit2.WebsiteDataManager(
        base_data_directory=f"{folder}/data", base_cache_directory=f"{folder}/cache", origin_storage_ratio=ratio
    )
    context = WebKit2.WebContext(website_data_manager=data)
    context.set_automation_allowed(True)
    if certificate:
        context.allow_tls_certificate_for_host(Gio.TlsCertificate.new_from_file(certificate), "localhost")
    context.connect("automation-started", started)
    Gtk.main()


def started(context: "WebKit2.WebContext", session: "WebKit2.AutomationSession") -> None:
    about = WebKit2.ApplicationInfo()
    about.set_name("MiniBrowser")  # what WebDriver clients ask for
    session.set_application_info(about)
    session.connect("create-web-view", lambda _: opened(context))


def opened(context: "WebKit2.WebContext") -> "WebKit2.WebView":
    """A tab: a window of phone size of its own."""
    view = WebKit2.WebView(web_context=context, is_controlled_by_automation=True)
    window = Gtk.Window(default_width=360, default_height=740)
    window.add(view)
    window.show_all()
    view.connect("close", lambda _: window.destroy())
    return view


if __name__ == "__main__":
    main(sys.argv[2], float(sys.argv[3]) if len(sys.argv) > 3 else 0.5, sys.argv[4] if len(sys.argv) > 4 else "")
