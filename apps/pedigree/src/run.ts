import { basename } from 'node:path';
import { type Analysis, analyse, timed } from './analyse.js';
import { type PedigreeArguments, readArguments, USAGE } from './arguments.js';
import { jsonReport } from './json-report.js';
import { readPedigreeFile } from './read-csv.js';
import { Refusal } from './refusal.js';
import type { Registered } from './registered.js';
import { registrationLines, summary } from './summary.js';

/** Where the command writes: its answer, and what stands in its way. */
export interface Output {
  readonly stdout: (text: string) => void;
  readonly stderr: (text: string) => void;
}

/**
 * The pedigree command, without the registry.
 *
 * @param argv what follows the command's name
 * @returns the exit code: 0 computed (with or without warnings), 2 refused or asked wrongly
 */
export function run(argv: readonly string[], output: Output): number {
  try {
    const asked = readArguments(argv);
    if (asked === 'help') {
      output.stdout(USAGE);
      return 0;
    }
    const [file, readMs] = timed(() => readPedigreeFile(asked.file));
    return report(asked, analyse(file, asked), readMs, output);
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    output.stderr(`${error.message}\n`);
    return 2;
  }
}

/** Prints what was found and, where animals were registered, what became of them; gives the exit code. */
export function report(
  asked: PedigreeArguments,
  analysis: Analysis,
  readMs: number,
  output: Output,
  registered?: Registered,
): number {
  output.stdout(
    asked.json
      ? jsonReport(analysis, readMs, registered)
      : summary(basename(asked.file), analysis) + (registered ? registrationLines(registered) : ''),
  );
  const refused = analysis.defects.filter((defect) => defect.refuses);
  for (const defect of refused.slice(0, 10)) output.stderr(`Refused: ${defect.message}\n`);
  if (refused.length > 10) output.stderr(`Refused: ${refused.length - 10} more of this kind\n`);
  return refused.length > 0 ? 2 : 0;
}
