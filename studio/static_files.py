"""Static files by hashed names, the floor page's scripts and their imports included."""

from pathlib import Path

import rcssmin
import rjsmin
from django.core.files.base import ContentFile, File
from whitenoise.storage import CompressedManifestStaticFilesStorage

MINIFY = {".js": rjsmin.jsmin, ".css": rcssmin.cssmin}


def minified(name: str, content: bytes) -> bytes:
    """A script or a style sheet of this project without comments and white space; anything else,
    and what others made, as it is."""
    minify = MINIFY.get(Path(name).suffix)
    return minify(content) if minify and name.startswith(("floor/", "css/")) else content


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
            (
                (r"""(?P<matched>from ?"(?P<url>\.{1,2}/[a-z0-9_/-]+\.js)";)""", 'from"%(url)s";'),
                (
                    r"""(?P<matched>import\("(?P<url>\.{1,2}/[a-z0-9_/-]+\.js)"\))""",
                    'import("%(url)s")',
                ),
            ),
        ),
    )

    def _save(self, name: str, content: File) -> str:
        # Whoever asked for the hash before has read it to its end.
        content.seek(0)
        return super()._save(name, ContentFile(minified(name, content.read())))
