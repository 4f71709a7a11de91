"""Static files by hashed names, the floor page's scripts and their imports included."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedFiles(CompressedManifestStaticFilesStorage):
    """A page that was loaded goes on with the scripts of its own release, to the last import:
    a new release never mixes its scripts into a running class."""

    # Each pass settles the names along one more import; the chain of the floor page's scripts
    # is longer than Django's five. (A ring of imports would never settle.)
    max_post_process_passes = 20

    # Django's own rewriting of imports takes in every script, and htmx's types among them.
    patterns = (
        *CompressedManifestStaticFilesStorage.patterns,
        (
            "floor/*.js",
            ((r"""(?P<matched>from "(?P<url>\.{1,2}/[a-z0-9_/-]+\.js)";)""", 'from "%(url)s";'),),
        ),
    )
