// Package sky computes where the sun and the moon stand over a place, when they rise and set, and
// how much light of what colour they give.
//
// Units, axes, signs. Angles at the border are unit.Angle. Azimuth runs from true north through
// east, altitude up from the level horizon, longitude east positive, latitude geodetic and north
// positive. Directions are vectors in the site frame (x east, y north, z up). Illuminance is in
// lux, colour temperature in kelvin. Time is UTC taken as UT1, and ΔT leads to dynamical time.
//
// Source. Sun: I. Reda, A. Andreas, Solar Position Algorithm for Solar Radiation Applications,
// NREL/TP-560-34302, 2008. Moon, phase and parallax: J. Meeus, Astronomical Algorithms, 2nd ed.,
// 1998, chapters 40, 47 and 48. ΔT: Espenak and Meeus 2006. Daylight: IES recommended practice for
// the calculation of daylight availability, J. IES 13(4), 1984, with the air mass of Kasten and
// Young 1989. Moonlight: Krisciunas and Schaefer 1991. Colour: direct beam and sky by Rayleigh and
// Ångström extinction, correlated colour temperature as CIE 15 defines it.
//
// Validity and accuracy. 1950 to 2100, every latitude; against an independent reference (Astropy
// with ERFA) the sun's direction is within 0.003° and the moon's within 0.02°, refraction set
// apart, when both take the same UT1 and ΔT. UT1-UTC (under 0.9 s while leap seconds last) adds up
// to 0.004° of hour angle. Refraction is good to about 0.1' above 5° and several arcminutes at the
// horizon. Illuminances are means for a sky class: single days are half or twice that.
//
// Not modelled: terrain and buildings (package terrain holds the skyline), polar motion, the
// geoid's height over the ellipsoid, eclipses, haze and smoke beyond the sky class, sky luminance
// by direction, stars and city glow.
package sky
