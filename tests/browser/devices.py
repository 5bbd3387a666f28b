"""The devices of the shop: their sizes."""

TABLET = {"width": 820, "height": 1180}
OFFICE = {"width": 1280, "height": 900}
PHONE = {"width": 390, "height": 844}
