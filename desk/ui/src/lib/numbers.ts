// The numbers of an assessment as rows for people. Unknown is said, never left out.
import { words } from '#words'
import type { Assessment } from './client'
import { duration } from './clock'
import * as m from './measure'

export type Row = { topic: string; name: string; value: string }

const known = <T>(v: T | null | undefined, f: (v: T) => string) => (v === null || v === undefined ? words.number.unknown : f(v))

export function rows(n: Assessment['numbers'], as: m.Measures): Row[] {
  const w = words.number
  const { move, light, picture, flight, balance, weather, safety } = n
  const out: Row[] = []
  const add = (topic: string, name: string, value: string) => out.push({ topic, name, value })
  add('move', w.move, (move.moves ?? []).join(', '))
  add('move', w.duration, duration(move.duration_s))
  add('move', w.length, m.length(move.length_m, as))
  add('move', w.topSpeed, m.speed(move.top_speed_m_s, as))
  add('move', w.above, `${m.length(move.lowest_above_ground_m, as)} – ${m.length(move.highest_above_ground_m, as)}`)
  add('move', w.farthest, m.length(move.farthest_from_launch_m, as))
  add('move', w.class, move.class || w.unknown)
  add('light', w.sun, `${m.angle(light.sun_altitude_deg)} ${m.compass(light.sun_azimuth_deg)} ${m.angle(light.sun_azimuth_deg, 0)}`)
  add('light', w.skyline, known(light.skyline_deg, (v) => m.angle(v)))
  add('light', w.illuminance, known(light.illuminance_subject_lx, (v) => `${Math.round(v).toLocaleString('en-GB').replaceAll(',', ' ')} ${w.lux}`))
  add('light', w.colour, known(light.cct_k, (v) => `${Math.round(v / 10) * 10} ${w.kelvin}`))
  add('picture', w.ev, known(picture.ev100, (v) => v.toFixed(1)))
  add('picture', w.fov, `${m.angle(picture.hfov_deg)} × ${m.angle(picture.vfov_deg)}`)
  add('picture', w.sharp, known(picture.near_m, (v) => `${m.length(v, as)} – ${picture.far_m === null || picture.far_m === undefined ? w.infinity : m.length(picture.far_m, as)}`))
  add('picture', w.blur, known(picture.blur_px, (v) => `${v.toFixed(1)} px`))
  add('flight', w.mass, m.mass(flight.takeoff_mass_kg, as))
  add('flight', w.margin, m.mass(flight.mass_margin_kg, as))
  add('flight', w.hover, known(flight.hover_power_w, m.power))
  add('flight', w.energy, known(flight.take_energy_wh, m.energy))
  add('flight', w.transit, known(flight.transit_energy_wh, m.energy))
  add('flight', w.usable, known(flight.usable_energy_wh, m.energy))
  add('flight', w.takes, known(flight.takes_per_pack, String))
  add('flight', w.thrust, known(flight.thrust_to_weight, (v) => v.toFixed(2)))
  add('balance', w.payload, known(balance.payload_kg, (v) => m.mass(v, as)))
  add('balance', w.plate, known(balance.plate_shift_mm, (v) => `${Math.abs(v).toFixed(0)} mm ${v < 0 ? w.back : w.forward}`))
  add('weather', w.wind, known(weather.wind_m_s, (v) => `${m.wind(v, as)}${weather.wind_from_deg === null || weather.wind_from_deg === undefined ? '' : ' ' + m.compass(weather.wind_from_deg)}`))
  add('weather', w.gust, known(weather.gust_m_s, (v) => m.wind(v, as)))
  add('weather', w.temperature, known(weather.temperature_c, (v) => m.temperature(v, as)))
  add('safety', w.clearance, known(move.terrain_clearance_m, (v) => m.length(v, as)))
  add('safety', w.obstacle, known(move.obstacle_clearance_m, (v) => `${m.length(v, as)} ${move.nearest_obstacle}`))
  add('safety', w.people, known(safety.people_distance_m, (v) => `${m.length(v, as)} ${safety.nearest_people}`))
  add('safety', w.sight, known(safety.sight_limit_m, (v) => m.length(v, as)))
  add('safety', w.buffer, known(safety.ground_risk_buffer_m, (v) => m.length(v, as)))
  add('safety', w.fall, known(safety.farthest_fall_m, (v) => m.length(v, as)))
  for (const r of n.radio ?? []) add('radio', r.use, known(r.margin_db, m.decibel))
  return out
}
