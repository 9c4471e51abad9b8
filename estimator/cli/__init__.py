"""The command `battenbook`: one thin function a verb; heavy imports wait until a verb needs them."""
