package shoot

import (
	"encoding/json"
	"reflect"
)

// Schema returns the JSON Schema (draft 2020-12) of the shoot file, or with kit of a shelf
// file, made from the same types that read it, for editors that complete and check.
func Schema(kit bool) ([]byte, error) {
	root, title := reflect.TypeFor[Shoot](), "fieldfare shoot file"
	if kit {
		root, title = reflect.TypeFor[Kit](), "fieldfare kit shelf"
	}
	defs := map[string]any{}
	schemaOf(root, field{}, defs)
	top := defs[root.Name()].(map[string]any)
	delete(defs, root.Name())
	top["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	top["title"] = title
	top["$defs"] = defs
	return json.MarshalIndent(top, "", "  ")
}

func schemaOf(t reflect.Type, f field, defs map[string]any) map[string]any {
	describe := func(s map[string]any) map[string]any {
		if f.doc != "" {
			s["description"] = f.doc
		}
		return s
	}
	switch {
	case t.Kind() == reflect.Pointer:
		return schemaOf(t.Elem(), f, defs)
	case reflect.PointerTo(t).Implements(textUnmarshaler):
		s := map[string]any{"type": "string"}
		if example := examples[t.Name()]; example != "" {
			s["examples"] = []string{example}
		}
		if t.Name() == "Date" {
			s = map[string]any{"type": "string", "format": "date"}
		}
		return describe(s)
	}
	switch t.Kind() {
	case reflect.Struct:
		if _, done := defs[t.Name()]; !done {
			defs[t.Name()] = nil // stops a type that holds itself
			properties, required := map[string]any{}, []string{}
			for i := range t.NumField() {
				inner := fieldOf(t.Field(i))
				if inner.name == "" || inner.name == "-" {
					continue
				}
				properties[inner.name] = schemaOf(t.Field(i).Type, inner, defs)
				if inner.need {
					required = append(required, inner.name)
				}
			}
			s := map[string]any{"type": "object", "properties": properties, "additionalProperties": false}
			if len(required) > 0 {
				s["required"] = required
			}
			defs[t.Name()] = s
		}
		return describe(map[string]any{"$ref": "#/$defs/" + t.Name()})
	case reflect.Slice:
		return describe(map[string]any{"type": "array", "items": schemaOf(t.Elem(), field{one: f.one}, defs)})
	case reflect.Bool:
		return describe(map[string]any{"type": "boolean"})
	case reflect.Int:
		return describe(map[string]any{"type": "integer"})
	case reflect.Float64:
		return describe(map[string]any{"type": "number"})
	}
	s := map[string]any{"type": "string"}
	if len(f.one) > 0 {
		s["enum"] = f.one
	}
	return describe(s)
}

// examples show how each quantity is written.
var examples = map[string]string{
	"Angle": "30 deg", "Length": "35 mm", "Speed": "12 m/s", "Acceleration": "3.5 m/s2", "AngularRate": "90 deg/s",
	"Mass": "560 g", "Temperature": "11 C", "Pressure": "1013 hPa", "Power": "900 W", "Energy": "355 Wh", "Charge": "16000 mAh",
	"Voltage": "22.2 V", "Resistance": "14 mohm", "Torque": "0.5 N m", "Frequency": "2.4 GHz", "Duration": "12 s", "Gain": "2 dBi",
	"Ratio": "25 %", "BitRate": "237 Mbit/s", "DataSize": "128 GB", "ColorTemperature": "5600 K", "PeopleDensity": "12/km2",
	"FNumber": "f/5.6", "Shutter": "1/50 s", "ISO": "ISO 200", "FrameRate": "25 fps", "Place": "46.6012 N, 10.3011 E",
	"Clock": "07:30", "Moment": "2026-09-22 10:30", "Kind": "push in", "Side": "left", "Level": "upper third",
}
