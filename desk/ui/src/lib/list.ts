/** A list of the server that may be null. */
export const list = <T>(all: T[] | null | undefined): T[] => all ?? []
