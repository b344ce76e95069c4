package unit

// The methods below let every quantity be read from and written to text (YAML, JSON
// strings, flags).

// ParseAngle reads a number with its unit, for example a value printed by String.
func ParseAngle(text string) (Angle, error) {
	v, err := angles.parse(text)
	return Angle(v), err
}

// String writes the quantity in deg.
func (a Angle) String() string { return angles.format(float64(a), "deg") }

// Text writes the quantity in the unit with the given symbol.
func (a Angle) Text(symbol string) string { return angles.format(float64(a), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (a Angle) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (a *Angle) UnmarshalText(text []byte) (err error) {
	*a, err = ParseAngle(string(text))
	return err
}

// ParseLength reads a number with its unit, for example a value printed by String.
func ParseLength(text string) (Length, error) {
	v, err := length.parse(text)
	return Length(v), err
}

// String writes the quantity in m.
func (l Length) String() string { return length.format(float64(l), "m") }

// Text writes the quantity in the unit with the given symbol.
func (l Length) Text(symbol string) string { return length.format(float64(l), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (l Length) MarshalText() ([]byte, error) { return []byte(l.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (l *Length) UnmarshalText(text []byte) (err error) {
	*l, err = ParseLength(string(text))
	return err
}

// ParseSpeed reads a number with its unit, for example a value printed by String.
func ParseSpeed(text string) (Speed, error) {
	v, err := speed.parse(text)
	return Speed(v), err
}

// String writes the quantity in m/s.
func (s Speed) String() string { return speed.format(float64(s), "m/s") }

// Text writes the quantity in the unit with the given symbol.
func (s Speed) Text(symbol string) string { return speed.format(float64(s), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (s Speed) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (s *Speed) UnmarshalText(text []byte) (err error) {
	*s, err = ParseSpeed(string(text))
	return err
}

// ParseAcceleration reads a number with its unit, for example a value printed by String.
func ParseAcceleration(text string) (Acceleration, error) {
	v, err := accel.parse(text)
	return Acceleration(v), err
}

// String writes the quantity in m/s2.
func (a Acceleration) String() string { return accel.format(float64(a), "m/s2") }

// Text writes the quantity in the unit with the given symbol.
func (a Acceleration) Text(symbol string) string { return accel.format(float64(a), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (a Acceleration) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (a *Acceleration) UnmarshalText(text []byte) (err error) {
	*a, err = ParseAcceleration(string(text))
	return err
}

// ParseAngularRate reads a number with its unit, for example a value printed by String.
func ParseAngularRate(text string) (AngularRate, error) {
	v, err := rate.parse(text)
	return AngularRate(v), err
}

// String writes the quantity in deg/s.
func (a AngularRate) String() string { return rate.format(float64(a), "deg/s") }

// Text writes the quantity in the unit with the given symbol.
func (a AngularRate) Text(symbol string) string { return rate.format(float64(a), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (a AngularRate) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (a *AngularRate) UnmarshalText(text []byte) (err error) {
	*a, err = ParseAngularRate(string(text))
	return err
}

// ParseMass reads a number with its unit, for example a value printed by String.
func ParseMass(text string) (Mass, error) {
	v, err := mass.parse(text)
	return Mass(v), err
}

// String writes the quantity in kg.
func (m Mass) String() string { return mass.format(float64(m), "kg") }

// Text writes the quantity in the unit with the given symbol.
func (m Mass) Text(symbol string) string { return mass.format(float64(m), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (m Mass) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (m *Mass) UnmarshalText(text []byte) (err error) {
	*m, err = ParseMass(string(text))
	return err
}

// ParseTemperature reads a number with its unit, for example a value printed by String.
func ParseTemperature(text string) (Temperature, error) {
	v, err := temp.parse(text)
	return Temperature(v), err
}

// String writes the quantity in C.
func (t Temperature) String() string { return temp.format(float64(t), "C") }

// Text writes the quantity in the unit with the given symbol.
func (t Temperature) Text(symbol string) string { return temp.format(float64(t), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (t Temperature) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (t *Temperature) UnmarshalText(text []byte) (err error) {
	*t, err = ParseTemperature(string(text))
	return err
}

// ParsePressure reads a number with its unit, for example a value printed by String.
func ParsePressure(text string) (Pressure, error) {
	v, err := pressure.parse(text)
	return Pressure(v), err
}

// String writes the quantity in hPa.
func (p Pressure) String() string { return pressure.format(float64(p), "hPa") }

// Text writes the quantity in the unit with the given symbol.
func (p Pressure) Text(symbol string) string { return pressure.format(float64(p), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (p Pressure) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (p *Pressure) UnmarshalText(text []byte) (err error) {
	*p, err = ParsePressure(string(text))
	return err
}

// ParsePower reads a number with its unit, for example a value printed by String.
func ParsePower(text string) (Power, error) {
	v, err := power.parse(text)
	return Power(v), err
}

// String writes the quantity in W.
func (p Power) String() string { return power.format(float64(p), "W") }

// Text writes the quantity in the unit with the given symbol.
func (p Power) Text(symbol string) string { return power.format(float64(p), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (p Power) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (p *Power) UnmarshalText(text []byte) (err error) {
	*p, err = ParsePower(string(text))
	return err
}

// ParseEnergy reads a number with its unit, for example a value printed by String.
func ParseEnergy(text string) (Energy, error) {
	v, err := energy.parse(text)
	return Energy(v), err
}

// String writes the quantity in Wh.
func (e Energy) String() string { return energy.format(float64(e), "Wh") }

// Text writes the quantity in the unit with the given symbol.
func (e Energy) Text(symbol string) string { return energy.format(float64(e), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (e Energy) MarshalText() ([]byte, error) { return []byte(e.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (e *Energy) UnmarshalText(text []byte) (err error) {
	*e, err = ParseEnergy(string(text))
	return err
}

// ParseCharge reads a number with its unit, for example a value printed by String.
func ParseCharge(text string) (Charge, error) {
	v, err := charge.parse(text)
	return Charge(v), err
}

// String writes the quantity in mAh.
func (c Charge) String() string { return charge.format(float64(c), "mAh") }

// Text writes the quantity in the unit with the given symbol.
func (c Charge) Text(symbol string) string { return charge.format(float64(c), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (c Charge) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (c *Charge) UnmarshalText(text []byte) (err error) {
	*c, err = ParseCharge(string(text))
	return err
}

// ParseVoltage reads a number with its unit, for example a value printed by String.
func ParseVoltage(text string) (Voltage, error) {
	v, err := voltage.parse(text)
	return Voltage(v), err
}

// String writes the quantity in V.
func (v Voltage) String() string { return voltage.format(float64(v), "V") }

// Text writes the quantity in the unit with the given symbol.
func (v Voltage) Text(symbol string) string { return voltage.format(float64(v), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (v Voltage) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (v *Voltage) UnmarshalText(text []byte) (err error) {
	*v, err = ParseVoltage(string(text))
	return err
}

// ParseResistance reads a number with its unit, for example a value printed by String.
func ParseResistance(text string) (Resistance, error) {
	v, err := resistance.parse(text)
	return Resistance(v), err
}

// String writes the quantity in mohm.
func (r Resistance) String() string { return resistance.format(float64(r), "mohm") }

// Text writes the quantity in the unit with the given symbol.
func (r Resistance) Text(symbol string) string { return resistance.format(float64(r), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (r Resistance) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (r *Resistance) UnmarshalText(text []byte) (err error) {
	*r, err = ParseResistance(string(text))
	return err
}

// ParseTorque reads a number with its unit, for example a value printed by String.
func ParseTorque(text string) (Torque, error) {
	v, err := torque.parse(text)
	return Torque(v), err
}

// String writes the quantity in N m.
func (t Torque) String() string { return torque.format(float64(t), "N m") }

// Text writes the quantity in the unit with the given symbol.
func (t Torque) Text(symbol string) string { return torque.format(float64(t), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (t Torque) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (t *Torque) UnmarshalText(text []byte) (err error) {
	*t, err = ParseTorque(string(text))
	return err
}

// ParseFrequency reads a number with its unit, for example a value printed by String.
func ParseFrequency(text string) (Frequency, error) {
	v, err := frequency.parse(text)
	return Frequency(v), err
}

// String writes the quantity in Hz.
func (f Frequency) String() string { return frequency.format(float64(f), "Hz") }

// Text writes the quantity in the unit with the given symbol.
func (f Frequency) Text(symbol string) string { return frequency.format(float64(f), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (f Frequency) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (f *Frequency) UnmarshalText(text []byte) (err error) {
	*f, err = ParseFrequency(string(text))
	return err
}

// ParseDuration reads a number with its unit, for example a value printed by String.
func ParseDuration(text string) (Duration, error) {
	v, err := duration.parse(text)
	return Duration(v), err
}

// String writes the quantity in s.
func (d Duration) String() string { return duration.format(float64(d), "s") }

// Text writes the quantity in the unit with the given symbol.
func (d Duration) Text(symbol string) string { return duration.format(float64(d), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (d Duration) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (d *Duration) UnmarshalText(text []byte) (err error) {
	*d, err = ParseDuration(string(text))
	return err
}

// ParseIlluminance reads a number with its unit, for example a value printed by String.
func ParseIlluminance(text string) (Illuminance, error) {
	v, err := illum.parse(text)
	return Illuminance(v), err
}

// String writes the quantity in lx.
func (i Illuminance) String() string { return illum.format(float64(i), "lx") }

// Text writes the quantity in the unit with the given symbol.
func (i Illuminance) Text(symbol string) string { return illum.format(float64(i), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (i Illuminance) MarshalText() ([]byte, error) { return []byte(i.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (i *Illuminance) UnmarshalText(text []byte) (err error) {
	*i, err = ParseIlluminance(string(text))
	return err
}

// ParseGain reads a number with its unit, for example a value printed by String.
func ParseGain(text string) (Gain, error) {
	v, err := gain.parse(text)
	return Gain(v), err
}

// String writes the quantity in dB.
func (g Gain) String() string { return gain.format(float64(g), "dB") }

// Text writes the quantity in the unit with the given symbol.
func (g Gain) Text(symbol string) string { return gain.format(float64(g), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (g Gain) MarshalText() ([]byte, error) { return []byte(g.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (g *Gain) UnmarshalText(text []byte) (err error) {
	*g, err = ParseGain(string(text))
	return err
}

// ParseDensity reads a number with its unit, for example a value printed by String.
func ParseDensity(text string) (Density, error) {
	v, err := density.parse(text)
	return Density(v), err
}

// String writes the quantity in kg/m3.
func (d Density) String() string { return density.format(float64(d), "kg/m3") }

// Text writes the quantity in the unit with the given symbol.
func (d Density) Text(symbol string) string { return density.format(float64(d), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (d Density) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (d *Density) UnmarshalText(text []byte) (err error) {
	*d, err = ParseDensity(string(text))
	return err
}

// ParseRatio reads a number with its unit, for example a value printed by String.
func ParseRatio(text string) (Ratio, error) {
	v, err := ratio.parse(text)
	return Ratio(v), err
}

// String writes the quantity in %.
func (r Ratio) String() string { return ratio.format(float64(r), "%") }

// Text writes the quantity in the unit with the given symbol.
func (r Ratio) Text(symbol string) string { return ratio.format(float64(r), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (r Ratio) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (r *Ratio) UnmarshalText(text []byte) (err error) {
	*r, err = ParseRatio(string(text))
	return err
}

// ParseBitRate reads a number with its unit, for example a value printed by String.
func ParseBitRate(text string) (BitRate, error) {
	v, err := bitRate.parse(text)
	return BitRate(v), err
}

// String writes the quantity in Mbit/s.
func (b BitRate) String() string { return bitRate.format(float64(b), "Mbit/s") }

// Text writes the quantity in the unit with the given symbol.
func (b BitRate) Text(symbol string) string { return bitRate.format(float64(b), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (b BitRate) MarshalText() ([]byte, error) { return []byte(b.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (b *BitRate) UnmarshalText(text []byte) (err error) {
	*b, err = ParseBitRate(string(text))
	return err
}

// ParseDataSize reads a number with its unit, for example a value printed by String.
func ParseDataSize(text string) (DataSize, error) {
	v, err := dataSize.parse(text)
	return DataSize(v), err
}

// String writes the quantity in GB.
func (d DataSize) String() string { return dataSize.format(float64(d), "GB") }

// Text writes the quantity in the unit with the given symbol.
func (d DataSize) Text(symbol string) string { return dataSize.format(float64(d), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (d DataSize) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (d *DataSize) UnmarshalText(text []byte) (err error) {
	*d, err = ParseDataSize(string(text))
	return err
}

// ParseColorTemperature reads a number with its unit, for example a value printed by String.
func ParseColorTemperature(text string) (ColorTemperature, error) {
	v, err := colorTemp.parse(text)
	return ColorTemperature(v), err
}

// String writes the quantity in K.
func (c ColorTemperature) String() string { return colorTemp.format(float64(c), "K") }

// Text writes the quantity in the unit with the given symbol.
func (c ColorTemperature) Text(symbol string) string { return colorTemp.format(float64(c), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (c ColorTemperature) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (c *ColorTemperature) UnmarshalText(text []byte) (err error) {
	*c, err = ParseColorTemperature(string(text))
	return err
}

// ParsePeopleDensity reads a number with its unit, for example a value printed by String.
func ParsePeopleDensity(text string) (PeopleDensity, error) {
	v, err := people.parse(text)
	return PeopleDensity(v), err
}

// String writes the quantity in /km2.
func (p PeopleDensity) String() string { return people.format(float64(p), "/km2") }

// Text writes the quantity in the unit with the given symbol.
func (p PeopleDensity) Text(symbol string) string { return people.format(float64(p), symbol) }

// MarshalText implements encoding.TextMarshaler.
func (p PeopleDensity) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (p *PeopleDensity) UnmarshalText(text []byte) (err error) {
	*p, err = ParsePeopleDensity(string(text))
	return err
}
