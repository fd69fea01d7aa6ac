"""A log of two boats whose belts come due in May, and of a shop of one technician."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from fleetlog.reports.context import ReportContext
from fleetlog.usecases.occasion import Occasion

TODAY = date(2026, 4, 15)
OCCASION = Occasion("Tess", datetime(2026, 4, 15, 7, 0, tzinfo=UTC), TODAY)
CONTEXT = ReportContext("The marina", "0")

FILES = {
    "owners.csv": "owner_id,name,email,remind_by\nO1,Quill Marsh,quill@example.org,email\n"
    "O2,Arden Reed,arden@example.org,none\n",
    "boats.csv": "boat_id,owner_id,name,water,use\nB1,O1,Plain Twins,salt,private\n"
    "B2,O2,Other Boat,salt,hire\n",
    "engines.csv": "serial,family,in_service_on,logged_from_new,boat_id,position\n"
    "E-1,V6,2021-05-22,yes,B1,port\nE-2,V6,2021-05-22,yes,B1,starboard\nE-3,V6,2021-05-22,yes,B2,\n"
    "E-4,V6,2021-05-22,yes,,\n",
    "readings.csv": "serial,on,meter\nE-1,2026-04-01,300\nE-2,2026-04-01,300\nE-3,2026-04-01,300\n",
    "schedules/V6.toml": 'name = "V6"\nrevision = 1\n\n'
    '[[rule]]\nkey = "belt"\ntitle = "Replace timing belt"\nitem = "timing belt"\naction = "replace"\n'
    'every = { months = 60 }\naccess = "flywheel off"\nlabour_hours = 3.5\n'
    'parts = [{ number = "P-1", quantity = 1 }]\nconsequence = "engine damage"\n\n'
    '[[rule]]\nkey = "stator"\ntitle = "Look at the stator"\nitem = "stator"\naction = "inspect"\n'
    'every = { months = 60 }\naccess = "flywheel off"\nlabour_hours = 1.5\n',
    "shop/shop.toml": 'name = "Workshop"\nrevision = 1\ntime_zone = "Etc/UTC"\nrate_per_hour = 80\n'
    'currency = "EUR"\nhours = { mon = "08:00-18:00", wed = "08:00-18:00", thu = "08:00-18:00" }\n'
    "plan_days = 30\nusual_lead_days = 7\n\n"
    '[[technician]]\nname = "Kim"\n\n[[bay]]\nname = "bay 1"\n\n'
    '[[access]]\nname = "flywheel off"\nhours = 1.0\n\n'
    '[[part]]\nnumber = "P-1"\nprice = 100\n\n[mail]\nfrom = "service@marina.example"\n'
    'smtp_host = "mail.example"\nuser = "service"\n',
}


def later(days: int) -> Occasion:
    """The same person, so many days after."""
    return replace(OCCASION, at=OCCASION.at + timedelta(days=days), today=TODAY + timedelta(days=days))
