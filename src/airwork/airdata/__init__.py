"""The physics of the air: atmosphere, altimetry, airspeeds, wind, turning flight, icing, sun and magnetic field.

Pure, vectorised functions in SI (metres, pascals, kelvins, metres per second, radians); no airplane, no files,
no clock. Outside a formula's validity arrays give NaN. Full titles of the sources: `docs/bibliography.md`.
"""
