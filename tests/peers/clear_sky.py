"""Clear-sky days of a reference library, which the program's are held against.

    python3 tests/peers/clear_sky.py > tests/fixtures/weather/clear_days.csv

Needs pvlib (`python3 -m venv somewhere && somewhere/bin/pip install pvlib==0.16.1`).
Light on level ground after Ineichen and Perez, Linke turbidity 3, at sea level, from the apparent
zenith of the NREL solar position, in one-minute middles of a UTC day at longitude 0.
"""
import pandas
import pvlib
from pvlib import atmosphere, clearsky, irradiance, solarposition

LATITUDES = [0, 20, 35, 45, 50, 55, 60, -30, -45]
DATES = [f"2026-{month:02d}-21" for month in range(1, 13)]

print(f"# pvlib {pvlib.__version__}, Ineichen, Linke turbidity 3, sea level: Wh/m2 of a day")
print("latitude,date,wh_m2")
for latitude in LATITUDES:
    for date in DATES:
        times = pandas.date_range(date, periods=1440, freq="1min", tz="UTC") + pandas.Timedelta("30s")
        zenith = solarposition.get_solarposition(times, latitude, 0.0, altitude=0)["apparent_zenith"]
        mass = atmosphere.get_relative_airmass(zenith, model="kastenyoung1989")
        outside = irradiance.get_extra_radiation(times, solar_constant=1366.1, method="spencer")
        light = clearsky.ineichen(zenith, mass, 3.0, altitude=0, dni_extra=outside)["ghi"]
        print(f"{latitude},{date},{light.sum() / 60:.1f}")
