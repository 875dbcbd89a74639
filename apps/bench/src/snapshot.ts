import { monitorEventLoopDelay } from 'node:perf_hooks';
import pg from 'pg';
import { v7 as uuid } from 'uuid';
import { UNKNOWN } from '../../../libs/genetics/index.js';
import { LivePedigree, LivingPopulation, type PedigreeSnapshot } from '../../../libs/lineage/index.js';
import { type Config } from '../../../libs/platform/config/index.js';
import { type Herd, makeHerd } from './herd.js';
import { Registry } from './registry.js';
import { milliseconds, printNote, printTable, whole } from './table.js';
import { percentile, timedAsync } from './timing.js';

const SIZES = [25_000, 50_000, 100_000];
const LARGE = [1_000_000];
const SEED = 1948;
const YEARS = 50;
const BATCH = 20_000;
/** Births, deaths and questions measured one by one. */
const STEPS = 200;
const WARM = 500;

/** The pedigree that the API keeps of a taxon: reading and computing it, what a write costs, and what the event loop feels of it. */
export async function benchSnapshot(config: Config, options: { readonly large: boolean }): Promise<void> {
  const registry = await Registry.open(config);
  const client = new pg.Client({ connectionString: config.databaseUrl });
  await client.connect();
  await client.query('CREATE SEQUENCE bench_number');
  const rows: string[][] = [];
  const delays: string[][] = [];
  try {
    for (const size of options.large ? [...SIZES, ...LARGE] : SIZES) {
      const herd = makeHerd(size, SEED, YEARS);
      const filled = await fill(client, herd);
      const result = await measure(registry, client, filled, herd);
      rows.push([whole(size), ...result.times]);
      delays.push([whole(size), ...result.delays]);
    }
  } finally {
    await client.end();
    await registry.close();
  }
  printTable(
    'A pedigree in memory (milliseconds)',
    [
      'animals',
      'first answer',
      'MB',
      'unchanged p50',
      'p99',
      'birth p50',
      'p99',
      'death p50',
      'p99',
      'sire of a leaf',
      'of an ancestor',
    ],
    rows,
  );
  printTable(
    'Delay of the event loop meanwhile (milliseconds)',
    ['animals', 'first answer p99', 'max', 'births and deaths p99', 'max', 'recomputing p99', 'max'],
    delays,
  );
  printNote(
    'Unchanged: mean kinships of the living asked again. Birth, death: written by another connection, then asked: the answer holds it.',
  );
  printNote(
    'MB: everything a snapshot refers to, room for births included. Delay: one timer a millisecond (perf_hooks).',
  );
}

type Filled = { readonly taxonId: string; readonly ids: readonly string[] };

async function measure(registry: Registry, client: pg.Client, { taxonId, ids }: Filled, herd: Herd) {
  const pedigrees = registry.get(LivePedigree);
  const population = registry.get(LivingPopulation);
  const ask = () => population.of(taxonId);

  const first = await watched(ask);
  const bytes = bytesOf(await pedigrees.of(taxonId));
  const warm = await each(WARM, ask);

  const size = ids.length;
  const parent = (male: number): string => {
    for (let i = size - 1; ; i--) if (herd.male[i] === male && Math.random() < 0.001 + 10 / size) return ids[i] ?? '';
  };
  const births: number[] = [];
  const deaths: number[] = [];
  const writes = await watched(async () => {
    for (let k = 0; k < STEPS; k++) {
      const before = (await ask()).size;
      await insertAnimals(client, taxonId, [{ id: uuid(), sire: parent(1), dam: parent(0), alive: true, male: k % 2 }]);
      const [born, bornMs] = await timedAsync(ask);
      await client.query(`UPDATE animal SET fate = 'dead', count = 0 WHERE id = $1`, [ids[size - 1 - k]]);
      const [died, diedMs] = await timedAsync(ask);
      if (born.size !== before + 1 || died.size !== before) throw new Error('An answer without the write before it.');
      births.push(bornMs);
      deaths.push(diedMs);
    }
  });

  const leaf = uuid();
  await insertAnimals(client, taxonId, [{ id: leaf, sire: null, dam: parent(0), alive: true, male: 0 }]);
  await ask();
  const [, leafMs] = await timedAsync(async () => {
    await changeSire(client, taxonId, leaf, parent(1));
    await ask();
  });
  // One of the first founders turns out to have a sire: whoever descends from it may have another F.
  const found = uuid();
  await insertAnimals(client, taxonId, [{ id: found, sire: null, dam: null, alive: false, male: 1 }]);
  await changeSire(client, taxonId, ids[0] ?? '', found);
  const recomputed = await watched(ask);

  return {
    times: [
      milliseconds(first.ms),
      (bytes / 2 ** 20).toFixed(1),
      ...both(warm),
      ...both(births),
      ...both(deaths),
      milliseconds(leafMs),
      milliseconds(recomputed.ms),
    ],
    delays: [first, writes, recomputed].flatMap(({ p99, max }) => [milliseconds(p99), milliseconds(max)]),
  };
}

function both(values: readonly number[]): string[] {
  return [milliseconds(percentile(values, 0.5)), milliseconds(percentile(values, 0.99))];
}

async function each(times: number, work: () => Promise<unknown>): Promise<number[]> {
  const found: number[] = [];
  for (let k = 0; k < times; k++) found.push((await timedAsync(work))[1]);
  return found;
}

/** Milliseconds of some work, and how late a timer of one millisecond came meanwhile. */
async function watched(work: () => Promise<unknown>): Promise<{ ms: number; p99: number; max: number }> {
  const delay = monitorEventLoopDelay({ resolution: 1 });
  delay.enable();
  const [, ms] = await timedAsync(work);
  delay.disable();
  return { ms, p99: delay.percentile(99) / 1e6, max: delay.max / 1e6 };
}

/** Bytes of all memory that a snapshot refers to, each once. */
function bytesOf({ memory }: PedigreeSnapshot): number {
  const buffers = new Set<ArrayBufferLike>();
  const add = (value: unknown): void => {
    if (ArrayBuffer.isView(value)) buffers.add(value.buffer);
    else if (typeof value === 'object' && value !== null) Object.values(value).forEach(add);
  };
  add(memory);
  return [...buffers].reduce((sum, { byteLength }) => sum + byteLength, 0);
}

type NewAnimal = { id: string; sire: string | null; dam: string | null; alive: boolean; male: number };

/** A taxon with the herd as its animals; the younger tenth lives. */
async function fill(client: pg.Client, herd: Herd): Promise<Filled> {
  const taxonId = uuid();
  await client.query(
    `INSERT INTO taxon (id, scientific_name, common_name, class_name, order_name, name_source, quarantine_days, quarantine_source)
     VALUES ($1, $2, 'invented', 'Reptilia', 'Testudines', 'invented', 60, 'invented')`,
    [taxonId, `Testudo ${herd.sire.length}`],
  );
  await client.query('INSERT INTO lineage_population (id, taxon_id) VALUES ($1, $2)', [uuid(), taxonId]);
  const ids = Array.from({ length: herd.sire.length }, () => uuid());
  for (let at = 0; at < ids.length; at += BATCH) {
    await insertAnimals(
      client,
      taxonId,
      ids.slice(at, at + BATCH).map((id, k) => ({
        id,
        sire: ids[herd.sire[at + k] ?? UNKNOWN] ?? null,
        dam: ids[herd.dam[at + k] ?? UNKNOWN] ?? null,
        alive: at + k >= 0.9 * ids.length,
        male: herd.male[at + k] ?? 0,
      })),
    );
  }
  await client.query('ANALYZE');
  return { taxonId, ids };
}

/** Animals with claims on their parents, in one transaction that ends as every write of lineage does. */
async function insertAnimals(client: pg.Client, taxonId: string, animals: readonly NewAnimal[]): Promise<void> {
  await client.query('BEGIN');
  await client.query(
    `INSERT INTO animal (id, register_number, kind, taxon_id, registered_at, registered_by, count, fate, sex)
     SELECT id, upper(lpad(to_hex(nextval('bench_number')), 9, '0')), 'individual', $1, now(), $1, alive::int,
            (CASE WHEN alive THEN 'alive' ELSE 'dead' END)::fate, (CASE WHEN male THEN 'male' ELSE 'female' END)::sex
     FROM unnest($2::uuid[], $3::bool[], $4::bool[]) AS new (id, alive, male)`,
    [taxonId, animals.map(({ id }) => id), animals.map(({ alive }) => alive), animals.map(({ male }) => male === 1)],
  );
  const claims = animals.flatMap(({ id, sire, dam }) => [
    ...(sire === null ? [] : [{ claim: uuid(), child: id, role: 'sire', parent: sire }]),
    ...(dam === null ? [] : [{ claim: uuid(), child: id, role: 'dam', parent: dam }]),
  ]);
  await insertClaims(client, taxonId, claims);
  await moveOn(
    client,
    taxonId,
    animals.map(({ id }) => id),
  );
  await client.query('COMMIT');
}

type NewClaim = { claim: string; child: string; role: string; parent: string };

async function insertClaims(client: pg.Client, by: string, claims: readonly NewClaim[]): Promise<void> {
  await client.query(
    `INSERT INTO parentage_claim (id, child_id, role, basis, recorded_at, recorded_by)
     SELECT id, child, role::parent_role, 'observed', now(), $1 FROM unnest($2::uuid[], $3::uuid[], $4::text[]) AS new (id, child, role)`,
    [by, claims.map(({ claim }) => claim), claims.map(({ child }) => child), claims.map(({ role }) => role)],
  );
  await client.query(
    `INSERT INTO parent_candidate (claim_id, parent_id, probability) SELECT *, 1 FROM unnest($1::uuid[], $2::uuid[])`,
    [claims.map(({ claim }) => claim), claims.map(({ parent }) => parent)],
  );
}

async function changeSire(client: pg.Client, taxonId: string, child: string, parent: string): Promise<void> {
  await client.query('BEGIN');
  await client.query(
    `UPDATE parentage_claim SET superseded_at = now(), reason = 'bench' WHERE child_id = $1 AND role = 'sire' AND superseded_at IS NULL`,
    [child],
  );
  await insertClaims(client, taxonId, [{ claim: uuid(), child, role: 'sire', parent }]);
  await moveOn(client, taxonId, [child]);
  await client.query('COMMIT');
}

async function moveOn(client: pg.Client, taxonId: string, ids: readonly string[]): Promise<void> {
  await client.query(
    `WITH moved AS (UPDATE lineage_population SET version = version + $2 WHERE taxon_id = $1 RETURNING id, version)
     INSERT INTO lineage_change (population_id, version, animal_id)
     SELECT moved.id, moved.version - $2 + place, animal FROM moved, unnest($3::uuid[]) WITH ORDINALITY AS new (animal, place)`,
    [taxonId, ids.length, ids],
  );
}
