package cli

import (
	"fmt"
	"io"

	"fieldfare/model/radio"
	"fieldfare/model/unit"
)

// linkCmd accounts for one radio link.
type linkCmd struct {
	Frequency    unit.Frequency `required:"" help:"Carrier frequency, as in 5.8GHz."`
	Power        unit.Power     `required:"" help:"Power fed to the transmitting antenna, as in 25mW."`
	GainTx       unit.Gain      `required:"" help:"Gain of the transmitting antenna, as in 2dBi."`
	GainRx       unit.Gain      `required:"" help:"Gain of the receiving antenna."`
	Distance     unit.Length    `required:"" help:"Distance between the antennas, as in 1.2km."`
	Bandwidth    unit.Frequency `required:"" help:"Bandwidth of the receiver, as in 20MHz."`
	NoiseFigure  unit.Gain      `required:"" help:"Noise figure of the receiver, as in 6dB."`
	RequiredSNR  unit.Gain      `name:"required-snr" required:"" help:"Signal-to-noise ratio that the mode needs, as in 12dB."`
	Feeder       unit.Gain      `default:"0dB" help:"Losses of cables and connectors."`
	Polarisation unit.Gain      `default:"0dB" help:"Allowance for unlike polarisation; linear against circular is 3dB."`
	Blocking     unit.Gain      `default:"0dB" help:"Allowance for bodies and the airframe between the antennas."`
	Diffraction  unit.Gain      `default:"0dB" help:"Loss over terrain and obstacles."`
}

type linkResult struct {
	PathLossDB     float64  `json:"path_loss_db"`
	ReceivedDBm    float64  `json:"received_dbm"`
	NoiseDBm       float64  `json:"noise_dbm"`
	SNRDB          float64  `json:"snr_db"`
	MarginDB       float64  `json:"margin_db"`
	FresnelRadiusM float64  `json:"fresnel_radius_m"` // first zone, halfway
	EIRPDBm        float64  `json:"eirp_dbm"`
	Unknown        []string `json:"unknown"`
	Basis          []string `json:"basis"`
	Caution        string   `json:"caution"`
}

// Run computes and prints.
func (c *linkCmd) Run(s *Session) error {
	link := radio.Link{
		FrequencyHz: float64(c.Frequency), PowerW: float64(c.Power),
		Tx: radio.Antenna{GainDBi: float64(c.GainTx)}, Rx: radio.Antenna{GainDBi: float64(c.GainRx)},
		FeederDB: float64(c.Feeder), PolarisationDB: float64(c.Polarisation), BlockingDB: float64(c.Blocking),
		BandwidthHz: float64(c.Bandwidth), NoiseFigureDB: float64(c.NoiseFigure), RequiredSNRDB: float64(c.RequiredSNR),
	}
	b, err := link.Budget(float64(c.Distance), float64(c.Diffraction))
	if err != nil {
		return err
	}
	half := float64(c.Distance) / 2
	fresnel, err := radio.FresnelRadius(1, link.FrequencyHz, half, half)
	if err != nil {
		return err
	}
	r := linkResult{
		PathLossDB: b.PathLossDB, ReceivedDBm: b.ReceivedDBm, NoiseDBm: b.NoiseDBm, SNRDB: b.SNRDB, MarginDB: b.MarginDB,
		FresnelRadiusM: fresnel, EIRPDBm: radio.EIRP(link.PowerW, link.Tx.GainDBi, 0), Unknown: []string{},
		Basis: []string{radio.BasisFreeSpace, radio.BasisFresnel, radio.BasisNoise}, Caution: SafetySentence,
	}
	for _, allowance := range []struct {
		name  string
		value unit.Gain
	}{{"blocking by bodies and the airframe (--blocking)", c.Blocking}, {"unlike polarisation (--polarisation)", c.Polarisation}, {"terrain and obstacles (--diffraction)", c.Diffraction}} {
		if allowance.value == 0 {
			r.Unknown = append(r.Unknown, "no allowance for "+allowance.name)
		}
	}
	return s.emit(r, r.text)
}

func (r *linkResult) text(w io.Writer) {
	for _, line := range []struct {
		name  string
		value float64
		unit  string
	}{
		{"path loss, free space", r.PathLossDB, "dB"}, {"received", r.ReceivedDBm, "dBm"}, {"noise floor", r.NoiseDBm, "dBm"},
		{"signal to noise", r.SNRDB, "dB"}, {"margin", r.MarginDB, "dB"}, {"first Fresnel radius, halfway", r.FresnelRadiusM, "m"},
		{"radiated power (EIRP)", r.EIRPDBm, "dBm"},
	} {
		fmt.Fprintf(w, "%-30s %8.2f %s\n", line.name, line.value, line.unit)
	}
	for _, u := range r.Unknown {
		fmt.Fprintln(w, "unknown:", u)
	}
	for _, b := range r.Basis {
		fmt.Fprintln(w, "basis:", b)
	}
	fmt.Fprintln(w, "check the radiated power against the limit of the band where you fly")
	fmt.Fprintln(w, r.Caution)
}
