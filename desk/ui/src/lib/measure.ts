// Quantities as people read them. Inputs are SI, or the unit in the function's name.

export type Measures = 'metric' | 'imperial'

const fixed = (v: number, digits: number) => v.toFixed(digits).replace(/^-(0(?:\.0+)?)$/, '$1').replace('-', '−')

/** Digits that suit a number's size: 3.1, 12, 340. */
const short = (v: number) => fixed(v, Math.abs(v) < 10 ? 1 : 0)

export function length(m: number, as: Measures): string {
  if (as === 'imperial') return `${short(m / 0.3048)} ft`
  return `${short(m)} m`
}

export function speed(ms: number, as: Measures): string {
  if (as === 'imperial') return `${fixed((ms * 3600) / 1609.344, 1)} mph`
  return `${fixed(ms, 1)} m/s`
}

export function acceleration(ms2: number, as: Measures): string {
  if (as === 'imperial') return `${fixed(ms2 / 0.3048, 1)} ft/s²`
  return `${fixed(ms2, 1)} m/s²`
}

/** Wind is read in knots by imperial crews, as aerodrome reports give it. */
export function wind(ms: number, as: Measures): string {
  if (as === 'imperial') return `${fixed((ms * 3600) / 1852, 0)} kt`
  return `${fixed(ms, 1)} m/s`
}

export function temperature(c: number, as: Measures): string {
  if (as === 'imperial') return `${fixed((c * 9) / 5 + 32, 0)} °F`
  return `${fixed(c, 0)} °C`
}

export function mass(kg: number, as: Measures): string {
  if (as === 'imperial') return kg < 0.5 ? `${fixed(kg / 0.028349523125, 1)} oz` : `${fixed(kg / 0.45359237, 2)} lb`
  return kg < 1 ? `${fixed(kg * 1000, 0)} g` : `${fixed(kg, 2)} kg`
}

export const angle = (deg: number, digits = 1) => `${fixed(deg, digits)}°`
export const energy = (wh: number) => `${fixed(wh, wh < 100 ? 1 : 0)} Wh`
export const power = (w: number) => `${fixed(w, 0)} W`
export const decibel = (db: number) => `${fixed(db, 1)} dB`
/** A difference in percent, with its sign where it shows any. */
export const signedPercent = (v: number) => `${v >= 0.05 ? '+' : ''}${fixed(v, 1)} %`
export const percent = (share: number) => `${fixed(share * 100, 0)} %`

const names = ['N', 'NNE', 'NE', 'ENE', 'E', 'ESE', 'SE', 'SSE', 'S', 'SSW', 'SW', 'WSW', 'W', 'WNW', 'NW', 'NNW']
/** Compass point of a true azimuth. */
export const compass = (deg: number) => names[Math.round((((deg % 360) + 360) % 360) / 22.5) % 16]

/** Shutter time as crews write it. */
export function shutter(s: number): string {
  return s >= 0.4 ? `${fixed(s, 1)} s` : `1/${Math.round(1 / s)}`
}

export const fstop = (a: number) => `f/${a >= 10 ? fixed(a, 0) : fixed(a, 1).replace('.0', '')}`

/** "+⅔" and the like, for errors in stops. */
export function stops(v: number): string {
  if (Math.abs(v) < 0.05) return '0'
  return `${v > 0 ? '+' : '−'}${Math.abs(v).toFixed(1)}`
}
