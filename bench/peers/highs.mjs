// highs.mjs MODEL.lp SECONDS: HiGHS (npm highs) on a model in LP format; prints the
// status, then a line "name value" for each variable that is not zero.
import { readFileSync } from "node:fs"
import loadHighs from "highs"

const [path, seconds] = process.argv.slice(2)
const highs = await loadHighs()
const solution = highs.solve(readFileSync(path, "utf8"), { time_limit: Number(seconds), mip_rel_gap: 0, mip_abs_gap: 0.9, output_flag: false })
console.log(solution.Status)
for (const [name, column] of Object.entries(solution.Columns)) if (column.Primal) console.log(name, column.Primal)
