package cli

// calc groups the calculators; each lives in its own file calc_NAME.go.
type calc struct {
}
