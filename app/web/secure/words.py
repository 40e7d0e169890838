"""Step by step: how each kind of device learns to trust the household's certificate.

The names of menus are the systems' own words; people need them to find the way.
"""

from dataclasses import dataclass

from app.language import N_


@dataclass(frozen=True, slots=True)
class Guide:
    """One kind of device. Steps are sentences; `command` is typed at a terminal."""

    slug: str
    name: str
    steps: tuple[str, ...]
    worked: str
    away: str
    source: str
    command: str = ""


FETCH = N_("On this page, tap “Fetch the certificate”.")
GO = N_("Come back to this page and tap “Open with the lock”.")
UNCHECKED = N_("From general knowledge, unchecked; menus differ from version to version.")

GUIDES = (
    Guide(
        "ipad",
        N_("iPad and iPhone"),
        (
            N_("Open this page in Safari and tap “Fetch the certificate”. Allow the profile."),
            N_("Open Settings. Near the top stands “Profile Downloaded”: tap it."),
            N_("Tap “More Details”, then the certificate, and compare its SHA-256 with the above."),
            N_("Go back, tap “Install” and type the code of the device. Install once more."),
            N_(
                "Now the second half, without which nothing changes: Settings › General › About › "
                "Certificate Trust Settings. Under “Enable full trust for root certificates”, "
                "switch on “Stillroom of …”."
            ),
            GO,
        ),
        N_("The page opens without a warning, and the address bar does not say “Not Secure”."),
        N_("Settings › General › VPN & Device Management, tap the profile, “Remove Profile”."),
        N_(
            "Certificate Trust Settings: Apple Support, “Trust manually installed certificate "
            "profiles in iOS and iPadOS” (read in a copy). The rest from general knowledge, "
            "unchecked."
        ),
    ),
    Guide(
        "android",
        N_("Android"),
        (
            FETCH,
            N_("Open Settings and search for “CA certificate”. As a rule it stands under "
               "Security › Encryption & credentials › Install a certificate."),
            N_("Android warns that what you send could be read. That is true of certificates in "
               "general; this one holds for this household only. Tap “Install anyway”."),
            N_("Choose the file stillroom.crt among the downloads."),
            N_("Compare: Encryption & credentials › Trusted credentials › User, tap the entry, and "
               "compare its SHA-256 with the above."),
            GO,
        ),
        N_("The page opens without a warning. From now on Android says that the network may be "
           "monitored: it says so whenever a certificate was added by hand, and goes on saying it. "
           "Firefox on Android does not look at it unless it is told to."),
        N_("Encryption & credentials › Trusted credentials › User, tap the entry, “Remove”. The "
           "notice goes too."),
        UNCHECKED,
    ),
    Guide(
        "windows",
        N_("Windows"),
        (
            FETCH,
            N_("Compare: open a terminal in the folder of downloads and type the line below. It "
               "must print the groups above."),
            N_("Open the file stillroom.crt and choose “Install Certificate…”, “Current User”."),
            N_("Choose “Place all certificates in the following store”, “Browse…”, “Trusted Root "
               "Certification Authorities”, and finish. Agree to the warning."),
            N_("Close the browser and open it again."),
            GO,
        ),
        N_("The page opens without a warning. Firefox may need its own step, see below."),
        N_("Open “Manage user certificates” from the start menu, Trusted Root Certification "
           "Authorities › Certificates, choose “Stillroom of …” and delete it."),
        UNCHECKED,
        command="certutil -hashfile stillroom.crt SHA256",
    ),
    Guide(
        "mac",
        N_("Mac"),
        (
            FETCH,
            N_("Compare: open Terminal and type the line below. It must print the groups above."),
            N_("Open the file stillroom.crt; it is added to the keychain “login”."),
            N_("In Keychain Access, open “Stillroom of …”, and under Trust choose “Always Trust”."),
            GO,
        ),
        N_("The page opens without a warning. Firefox may need its own step, see below."),
        N_("In Keychain Access, choose “Stillroom of …” and delete it."),
        UNCHECKED,
        command="shasum -a 256 ~/Downloads/stillroom.crt",
    ),
    Guide(
        "linux",
        N_("Linux, with Chromium"),
        (
            FETCH,
            N_("Compare: sha256sum stillroom.crt must print the groups above."),
            N_("Type the line below in the folder of the file; on Debian certutil comes with the "
               "package libnss3-tools."),
            N_("Close the browser and open it again."),
            GO,
        ),
        N_("The page opens without a warning."),
        N_("certutil -d sql:$HOME/.pki/nssdb -D -n Stillroom takes it away."),
        UNCHECKED,
        command='certutil -d sql:$HOME/.pki/nssdb -A -t "C,," -n Stillroom -i stillroom.crt',
    ),
    Guide(
        "firefox",
        N_("Firefox on a computer"),
        (
            FETCH,
            N_("Open Settings › Privacy & Security, and at Certificates “View Certificates…”."),
            N_("On the tab “Authorities”, choose “Import…” and the file stillroom.crt."),
            N_("Choose “View” and compare its SHA-256 with the above. Then tick “Trust this CA to "
               "identify websites”."),
            GO,
        ),
        N_("The page opens without a warning."),
        N_("On the same tab, choose “Stillroom of …”, then “Delete or Distrust…”."),
        UNCHECKED,
    ),
)  # fmt: skip
