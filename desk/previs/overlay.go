package previs

import (
	"image"

	"fieldfare/model/lens"
)

func overlay(out *image.RGBA, s *Scene, c lens.Camera, pose lens.Pose, m Moment, o Options) {}
