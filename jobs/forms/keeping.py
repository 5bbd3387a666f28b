"""How long things are kept; and the word with which a person's data are removed."""

from __future__ import annotations

from django import forms

DAYS = {"inputmode": "numeric"}


class KeepingForm(forms.Form):
    photo_days = forms.IntegerField(
        label="Days to keep photos after their order is put away",
        required=False,
        help_text="Empty: for ever. The row of the photo stays, with who took it and when.",
        widget=forms.TextInput(attrs=DAYS),
    )
    sign_in_days = forms.IntegerField(
        label="Days to keep the log of signing in",
        help_text="Who signed in and from where, wrong passwords and PINs, locked names.",
        widget=forms.TextInput(attrs=DAYS),
    )


class EraseForm(forms.Form):
    """The sign-in name typed out, so that it is not done by a slip of the hand."""

    name = forms.CharField(label="Sign-in name", max_length=150, widget=forms.TextInput())

    def __init__(self, *args: object, username: str, **options: object) -> None:
        super().__init__(*args, **options)  # type: ignore[arg-type]  # handed on as they came
        self.username = username
        self.fields["name"].label = f"Type the sign-in name, {username}, to confirm"
        self.fields["name"].widget.attrs |= {"autocomplete": "off", "autocapitalize": "none"}

    def clean_name(self) -> str:
        typed: str = self.cleaned_data["name"]
        if typed.casefold() != self.username.casefold():
            raise forms.ValidationError(f"That is not the sign-in name of this person, which is {self.username}.")
        return typed
