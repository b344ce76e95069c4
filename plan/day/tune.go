package day

import (
	"os"
	"strconv"
)

var T = map[string]int{}

func tn(k string, d int) int {
	if v, ok := T[k]; ok {
		return v
	}
	v := d
	if s := os.Getenv("T_" + k); s != "" {
		v, _ = strconv.Atoi(s)
	}
	T[k] = v
	return v
}
