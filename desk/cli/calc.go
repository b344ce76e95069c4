package cli

// calc groups the calculators; each lives in its own file calc_NAME.go.
type calc struct {
	Sun sunCmd `cmd:"" help:"Where the sun and the moon stand, and the light they give."`
}
