import { inOrder, type Period } from './periods.js';

/** What is recorded of a clutch, in a form that can be compared: who had eggs handed on, what was told of eggs, and the young. */
export type ClutchState = {
  readonly keeper: string;
  readonly dam: string;
  readonly laid: string;
  readonly count: number;
  readonly had: Record<string, Period[]>;
  readonly told: string[];
  readonly young: string[];
};

/** The fields of bodies about eggs that are read here. */
export type EggBody = {
  clutchId: string | null;
  keeperId: string;
  dams: { id: string }[];
  eggCount: number;
  earliest: string;
  eggs: number[] | null;
  kind: string;
  young: { animalId: string; eggNumber: number | null }[];
};
/** An egg as entries of transfers name it. */
export type EggNamed = { eggId: string; clutchId: string; number: number };

/** Eggs and young in a form that is the same whoever wrote them down. */
export const eggTold = (egg: number | null, kind: string, on: string): string => `${egg ?? 'all'} ${kind} ${on}`;
export const youngOf = (egg: number | null, animal: string): string => `${egg ?? '?'} ${animal}`;

type Replayed = { -readonly [K in keyof Omit<ClutchState, 'had'>]: ClutchState[K] } & {
  had: Map<number, [string, string, string | null][]>;
};

/** Rebuilds clutches from the bodies of ledger entries alone. */
export class EggReplay {
  private readonly clutches = new Map<string, Replayed>();

  state(): Record<string, ClutchState> {
    return Object.fromEntries(
      [...this.clutches].map(([id, { had, told, young, ...clutch }]) => {
        const periods = Object.fromEntries([...had].map(([egg, spans]) => [egg, inOrder(spans)]));
        return [id, { ...clutch, had: periods, told: told.toSorted(), young: young.toSorted() }];
      }),
    );
  }

  record(id: string, { keeperId: keeper, dams, eggCount: count, earliest: laid }: EggBody): void {
    this.clutches.set(id, { keeper, dam: dams[0]?.id ?? '', laid, count, had: new Map(), told: [], young: [] });
  }

  tell(id: string, { eggs, kind, earliest }: EggBody): void {
    for (const egg of eggs ?? [null]) this.of(id).told.push(eggTold(egg, kind, earliest));
  }

  hatch(id: string, { young, earliest }: EggBody): void {
    const clutch = this.of(id);
    for (const { animalId, eggNumber } of young) {
      clutch.young.push(youngOf(eggNumber, animalId));
      const known = clutch.told.some(
        (told) => told.startsWith(`${eggNumber} hatched`) || told.startsWith('all hatched'),
      );
      if (eggNumber !== null && !known) clutch.told.push(eggTold(eggNumber, 'hatched', earliest));
    }
  }

  /** An egg arrived: a refused or missing one is the giver's, whatever else the receiver's. */
  arrive({ clutchId, number, arrival }: EggNamed & { arrival: string }, to: string, on: string): void {
    const clutch = this.of(clutchId);
    if (arrival === 'missing') clutch.told.push(eggTold(number, 'fate_unknown', on));
    if (arrival === 'dead') clutch.told.push(eggTold(number, 'failed', on));
    if (arrival === 'missing' || arrival === 'refused') return;
    const had = clutch.had.get(number) ?? [];
    const last = had.at(-1);
    if (last !== undefined) last[2] = on;
    clutch.had.set(number, [...had, [to, on, null]]);
  }

  rename(party: string, keeper: string): void {
    for (const { had } of this.clutches.values())
      for (const period of [...had.values()].flat()) if (period[0] === party) period[0] = keeper;
  }

  private of(id: string): Replayed {
    const clutch = this.clutches.get(id);
    if (clutch === undefined) throw new Error('An entry is about a clutch that the ledger does not know.');
    return clutch;
  }
}
