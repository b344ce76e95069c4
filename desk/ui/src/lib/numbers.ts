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
  add('move', w.acceleration, m.acceleration(move.top_acceleration_m_s2, as))
  add('move', w.subject, known(move.least_distance_to_framed_subject_m, (v) => m.length(v, as)))
  if (typeof move.subject_distance_m === 'number') add('move', w.moving, `${m.length(move.subject_distance_m, as)}${move.top_closing_speed_m_s ? `, ${w.closing(m.speed(move.top_closing_speed_m_s, as))}` : ''}`)
  if (move.subject_hidden_s > 0) add('move', w.hidden, duration(move.subject_hidden_s))
  if (move.subject_out_of_frame_s > 0) add('move', w.outOfFrame, duration(move.subject_out_of_frame_s))
  add('move', w.escape, known(move.escape_free_percent, (v) => m.percent(v / 100)))
  add('move', w.class, move.class ? `${move.class}${move.class_reason ? ': ' + move.class_reason : ''}` : w.unknown)
  add('light', w.sun, `${m.angle(light.sun_altitude_deg)} ${m.compass(light.sun_azimuth_deg)} ${m.angle(light.sun_azimuth_deg, 0)}`)
  add('light', w.skyline, known(light.skyline_deg, (v) => m.angle(v)))
  add('light', w.illuminance, known(light.illuminance_subject_lx, (v) => `${Math.round(v).toLocaleString('en-GB').replaceAll(',', ' ')} ${w.lux}`))
  add('light', w.colour, known(light.cct_k, (v) => `${Math.round(v / 10) * 10} ${w.kelvin}`))
  add('picture', w.ev, known(picture.ev100, (v) => v.toFixed(1)))
  add('picture', w.fov, `${m.angle(picture.hfov_deg)} × ${m.angle(picture.vfov_deg)}`)
  add('picture', w.sharp, known(picture.near_m, (v) => `${m.length(v, as)} – ${picture.far_m === null || picture.far_m === undefined ? w.infinity : m.length(picture.far_m, as)}`))
  add('picture', w.blur, known(picture.blur_px, (v) => `${v.toFixed(1)} px`))
  add('picture', w.crossing, known(picture.crossing_s, (v) => `${v.toFixed(1)} s${typeof picture.shortest_natural_crossing_s === 'number' ? `, ${w.natural(picture.shortest_natural_crossing_s.toFixed(1))}` : ''}`))
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
  if (typeof safety.set_distance_m === 'number') add('safety', w.set, m.length(safety.set_distance_m, as))
  if (typeof safety.stunt_distance_m === 'number') add('safety', w.stunt, m.length(safety.stunt_distance_m, as))
  add('safety', w.pilot, m.length(safety.farthest_from_pilot_m, as))
  add('safety', w.sight, known(safety.sight_limit_m, (v) => m.length(v, as)))
  add('safety', w.sees, known(safety.pilot_sees_aircraft, (v) => (v ? w.yes : w.no)))
  if (safety.spotters_needed?.length) add('safety', w.spotters, safety.spotters_needed.join(', '))
  if (typeof safety.sun_from_aircraft_deg === 'number') add('safety', w.glare, m.angle(safety.sun_from_aircraft_deg, 0))
  add('safety', w.volume, known(safety.contingency_m, (v) => `${m.length(v, as)}${typeof safety.contingency_top_m === 'number' ? `, ${w.top(m.length(safety.contingency_top_m, as))}` : ''}`))
  add('safety', w.buffer, known(safety.ground_risk_buffer_m, (v) => m.length(v, as)))
  add('safety', w.fall, known(safety.farthest_fall_m, (v) => `${m.length(v, as)}${safety.fall_in_wind ? '' : `, ${w.noWind}`}`))
  add('safety', w.fallEnergy, known(safety.fall_energy_j, (v) => `${(v / 1000).toFixed(1)} kJ`))
  add('safety', w.groundRisk, known(safety.intrinsic_ground_risk_class, String))
  add('safety', w.lostLink, known(safety.lost_link_height_needed_above_launch_m, (v) => `${m.length(v, as)} ${w.aboveLaunch}`))
  add('safety', w.landing, safety.emergency_landing ? `${safety.emergency_landing}${typeof safety.emergency_landing_s === 'number' ? `, ${duration(safety.emergency_landing_s)}` : ''}` : w.unknown)
  for (const r of n.radio ?? []) add('radio', r.use, known(r.margin_db, m.decibel))
  return out
}
