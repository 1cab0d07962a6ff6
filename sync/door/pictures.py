"""Whether bytes under a photo's name are a photo: looked at by the imaging library, never unpacked past a limit."""

import io
import warnings

from PIL import Image

from sync.door.refusals import Refused
from sync.intake_photo import PIXELS_MOST, TYPES


def refuse_no_picture(data: bytes) -> None:
    """Raises Refused (415) for what is no JPEG, PNG or WebP, is damaged, or would unpack to too many pixels."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=tuple(TYPES)) as picture:
                pixels = picture.width * picture.height
                if pixels <= PIXELS_MOST:
                    picture.verify()
    except Image.DecompressionBombError as error:
        raise Refused(415, f"a picture of too many pixels; at most {PIXELS_MOST} are taken") from error
    except Exception as error:  # whatever a decoder trips over in hostile bytes, they are no picture
        raise Refused(415, "this is no picture that is taken here (JPEG, PNG or WebP)") from error
    if not 0 < pixels <= PIXELS_MOST:
        raise Refused(415, f"a picture of {pixels} pixels; at most {PIXELS_MOST} are taken")
