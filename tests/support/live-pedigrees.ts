import { LineageReadStore } from '../../libs/lineage/pedigree/lineage-read.store.js';
import { LivePedigree } from '../../libs/lineage/pedigree/live-pedigree.js';
import { type Living, LivingPopulation } from '../../libs/lineage/pedigree/living-population.js';
import { Clock } from '../../libs/platform/clock.js';
import { Compute } from '../../libs/platform/compute/index.js';
import { createPrismaClient, type Database } from '../../libs/platform/prisma/index.js';

/** What one server keeps of the pedigrees: connections, memory and threads of its own. Call `close`. */
export function livePedigrees(databaseUrl: string) {
  const client = createPrismaClient(databaseUrl, 3);
  const compute = new Compute();
  const pedigrees = new LivePedigree(new LineageReadStore({ client } as Database), compute, { databaseUrl });
  return {
    pedigrees,
    population: new LivingPopulation(pedigrees, compute, new Clock()),
    async close(): Promise<void> {
      await compute.onApplicationShutdown();
      await client.$disconnect();
    },
  };
}

export type LivePedigrees = ReturnType<typeof livePedigrees>;

/** Every number of a population by the id of its animal, to compare two that number their animals differently. */
export function numbersOf({ snapshot, size, meanKinship, populationMeanKinship }: Living) {
  const rounded = (value: number | undefined): number => Math.round((value ?? NaN) * 1e12) / 1e12;
  const animals = Array.from({ length: snapshot.ids.length }, (_, i) => ({
    id: snapshot.ids.at(i) ?? '',
    inbreeding: rounded(snapshot.inbreeding[i]),
    knownAncestry: rounded(snapshot.knownAncestry[i]),
    meanKinship: rounded(meanKinship[i]),
    alive: snapshot.alive[i],
  }));
  return {
    size,
    populationMeanKinship: populationMeanKinship === null ? null : rounded(populationMeanKinship),
    animals: animals.toSorted((a, b) => (a.id < b.id ? -1 : 1)),
  };
}
