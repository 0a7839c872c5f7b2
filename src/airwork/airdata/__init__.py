"""The physics of the air: atmosphere, altimetry, airspeeds, wind, turning flight, icing, sun and magnetic field.

Pure, vectorized functions in SI (meters, pascals, kelvins, meters per second, radians); no airplane, no files,
no clock. Outside a formula's validity arrays give NaN. Full titles of the sources: `docs/bibliography.md`.
"""
