// Every language at once, for the tests; the page itself is built with one.
export { words as en } from '../words/en'
export { words as de } from '../words/de'
