package rule

// Embedded opens the profiles that come with the program, for fuzz seeds.
var Embedded = embedded
