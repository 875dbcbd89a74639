import { type Config } from '../../../libs/platform/config/index.js';
import { load, type Load, startServer } from './client.js';
import { makeHerd } from './herd.js';
import { Registry, toPedigreeAnimals } from './registry.js';
import { milliseconds, printNote, printTable, whole } from './table.js';
import { timedAsync } from './timing.js';

const KEEPERS = 500;
const CLIENTS = 4;
const CALLS_A_CLIENT = 50;
const LIVING = [25_000, 100_000];
/** Dead ancestors for each living animal. */
const DEAD = 0.25;

const QUERY = `query ($animalId: ID!) {
  mateOptions(animalId: $animalId, first: 20) {
    total options { edges { node { place offspringInbreeding meanKinship geneDiversityChange knownAncestry grownUp distance
      openForBreeding askThroughRegistry parts { part points } reason
      animal { id registerNumber sex birthYear holder { label } } } } }
    leftOut { notGrownUp notAvailable filteredOut }
  }
}`;

/** A search for mates over HTTP in all collections of one club, on growing populations. */
export async function benchMates(config: Config): Promise<void> {
  const registry = await Registry.open(config);
  const members = await registry.makeClub('mates', KEEPERS);
  const rows: string[][] = [];
  const api = await startServer('api');
  try {
    for (const living of LIVING) {
      const herd = makeHerd(Math.round(living * (1 + DEAD)), 7);
      const name = `Testudo ${living}`;
      const lines = toPedigreeAnimals(herd, living, `M${living}-`);
      const [, loadMs] = await timedAsync(() => registry.register('mates', name, lines));
      const calls = await Promise.all(
        members.slice(0, CLIENTS).map(async (member) => ({
          path: '/graphql',
          body: { query: QUERY, variables: { animalId: await livingFemale(registry, member.keeperId, name) } },
          token: await registry.tokenOf(member),
        })),
      );
      const first = await load(api.port, calls.slice(0, 1), { calls: 1 });
      await load(api.port, calls, { calls: 2 });
      rows.push(
        row(living, herd.sire.length / (loadMs / 1000), first, await load(api.port, calls, { calls: CALLS_A_CLIENT })),
      );
    }
    printTable(
      `Mates across ${KEEPERS} keepers of one club: ${CLIENTS} clients, ${CLIENTS * CALLS_A_CLIENT} warm calls`,
      ['living of the taxon', 'registered/s', 'first call ms', 'p50 ms', 'p95 ms', 'searches/s'],
      rows,
    );
    printNote(
      `${DEAD * 100} % as many dead ancestors stand in the pedigree too. The first call reads pedigree and candidates into memory.`,
    );
    printNote('Registered/s: animals of the file written by the pedigree load, ANALYZE included.');
  } finally {
    await api.stop();
    await registry.close();
  }
}

function row(living: number, registered: number, first: Load, { p50, p95, perSecond }: Load): string[] {
  return [
    whole(living),
    whole(registered),
    milliseconds(first.p50),
    milliseconds(p50),
    milliseconds(p95),
    perSecond.toFixed(1),
  ];
}

async function livingFemale(registry: Registry, keeperId: string, scientificName: string): Promise<string> {
  const { id } = await registry.client.animal.findFirstOrThrow({
    where: {
      sex: 'female',
      fate: 'alive',
      taxon: { scientificName },
      access: { some: { keeperId, relation: 'holder', validTo: null } },
    },
    orderBy: { id: 'asc' },
  });
  return id;
}
