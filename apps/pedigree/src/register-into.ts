import { DomainError } from '../../../libs/kernel/index.js';
import { RegisterPedigree } from '../../../libs/exchange/index.js';
import { Clock } from '../../../libs/platform/clock.js';
import { createPrismaClient, UnitOfWork } from '../../../libs/platform/prisma/index.js';
import { analyse, timed } from './analyse.js';
import { readArguments, type Registration } from './arguments.js';
import type { NumberedAnimals } from './number-animals.js';
import { type PedigreeFile, readPedigreeFile } from './read-csv.js';
import { Refusal } from './refusal.js';
import type { Registered } from './registered.js';
import { type Output, report, run } from './run.js';
import { toPedigreeAnimals } from './to-pedigree-animals.js';

/**
 * The command with --register-into: computes as always, and registers the animals with the keepers of the club.
 *
 * @param databaseUrl the registry's database
 * @returns the exit code: 0 registered (with or without warnings), 2 refused; then nothing was written
 */
export async function registerInto(
  argv: readonly string[],
  output: Output,
  databaseUrl: string | undefined,
): Promise<number> {
  try {
    const asked = readArguments(argv);
    if (asked === 'help' || asked.registration === undefined) return run(argv, output);
    const [file, readMs] = timed(() => readPedigreeFile(asked.file));
    const analysis = analyse(file, asked);
    const registered = analysis.computed
      ? await register(file, analysis.animals, asked.registration, databaseUrl)
      : undefined;
    return report(asked, analysis, readMs, output, registered);
  } catch (error) {
    if (!(error instanceof Refusal) && !(error instanceof DomainError)) throw error;
    output.stderr(`${error.message}\n`);
    return 2;
  }
}

async function register(
  file: PedigreeFile,
  animals: NumberedAnimals,
  { club, taxon }: Registration,
  databaseUrl: string | undefined,
): Promise<Registered> {
  if (!databaseUrl) throw new Refusal('No registry is named. Set DATABASE_URL, or use npm run -s pedigree.');
  const client = createPrismaClient(databaseUrl, 1);
  try {
    await client.club.findFirst({ select: { id: true } }).catch((error: unknown) => {
      const reason =
        String((error as Error).message)
          .trim()
          .split('\n')
          .at(-1) ?? '';
      throw new Refusal(
        `The registry's database cannot be read (${reason}). Start the registry once (npm start), or correct DATABASE_URL.`,
      );
    });
    const started = performance.now();
    const registered = await new RegisterPedigree(new UnitOfWork(client, new Clock())).execute({
      club,
      taxon,
      animals: toPedigreeAnimals(file, animals),
    });
    return { ...registered, club, taxon: taxon.scientificName, milliseconds: performance.now() - started };
  } finally {
    await client.$disconnect();
  }
}
