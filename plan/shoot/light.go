package shoot

// Lights are the words for wanted light, as a director says them.
var Lights = []string{
	"front light", "side light", "side light left", "side light right", "back light",
	"three-quarter", "three-quarter back", "top light", "soft", "golden hour", "blue hour", "long shadows",
	"no aircraft shadow in frame", "no sun in frame", "sun in frame",
	"subject lit", "subject shaded", "background shaded", "daylight", "night",
}
