// Package lens computes what a lens draws on a sensor: where a point lands, how much is
// seen, what is sharp, and which aperture is sharpest.
//
// Units, axes and signs: SI throughout (a 35 mm lens has FocalM 0.035); angles are
// unit.Angle. Points are in the site frame, x east, y north, z up. Azimuth is clockwise
// from true north, tilt is up positive, roll is right side down positive. Pixel (0, 0) is
// the top left corner of the picture, x to the right, y down, the centre is (W/2, H/2).
//
// Source: the pinhole camera and the thin lens of any optics textbook; depth of field after
// A. R. Greenleaf, Photographic Optics (1950); diffraction of a circular pupil after
// Born & Wolf, Principles of Optics, and its modulation transfer after G. D. Boreman,
// Modulation Transfer Function in Optical and Electro-Optical Systems (SPIE TT52).
//
// Validity and accuracy: the projection is exact for a lens free of distortion, focused at
// infinity; depth of field is exact for a thin lens and good to a few per cent for a real
// one that is focused farther than ten focal lengths away.
//
// Not modelled: distortion, aberrations (the lens's own good range stands in for them),
// pupil magnification, focus breathing (unknown unless the crew measured it).
package lens

// Wavelength is the wavelength in metres at which diffraction is judged: 550 nm, green,
// near the peak of the eye's daylight response (555 nm, CIE 1924).
const Wavelength = 550e-9
