package server

// ownHeader is set by our page on every change; a page of another origin cannot set it without our leave.
const ownHeader = "Fieldfare-Page"
