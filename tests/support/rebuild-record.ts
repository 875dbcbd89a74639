import { type RecordPack } from '../../libs/exchange/index.js';
import { type Archive, type PackClient } from './pack-client.js';
import { type RegistryWorld, type TestKeeper } from './registry-world.js';

type Animal = RecordPack['animals'][number];
type Relative = RecordPack['relatives'][number];
type Fact = Animal['facts'][number];
type Edtf = { readonly edtf: string } | null;

const edtf = (when: Edtf): string | null => when?.edtf ?? null;

/**
 * Makes the animals of a pack anew in an empty registry, from nothing but the archive, through public mutations. Taxon and
 * line are that registry's own seed. What came before the arrival is the keeper's own older book: one keeper has had it all.
 */
export class RebuildRecord {
  private readonly ids = new Map<string, string>();
  private readonly all: Map<string, Animal | Relative>;

  constructor(
    private readonly client: PackClient,
    private readonly world: RegistryWorld,
    private readonly keeper: TestKeeper,
    private readonly archive: Archive,
    private readonly taxonId: string,
  ) {
    const { animals, relatives } = archive.pack;
    this.all = new Map([...animals, ...relatives].map((each) => [each.ref, each]));
  }

  /** Gives the new id of every animal by its ref in the pack. */
  async execute(): Promise<ReadonlyMap<string, string>> {
    const { animals, relatives } = this.archive.pack;
    for (const { ref } of relatives) await this.idOf(ref);
    for (const animal of animals) await this.idOf(animal.ref);
    for (const animal of animals) {
      await this.remarkAll(animal);
      await this.sayParents(animal);
      await this.quarantine(animal);
      await this.documents(animal);
    }
    await this.breed();
    return this.ids;
  }

  private do(name: Parameters<PackClient['do']>[1], input: object) {
    return this.client.do(this.keeper, name, input);
  }

  /** The id of an animal, which is registered first where it is not yet, after its ancestors or the lot it came out of. */
  private async idOf(ref: string): Promise<string> {
    const known = this.ids.get(ref);
    if (known !== undefined) return known;
    const each = this.all.get(ref);
    if (each === undefined) throw new Error(`${ref} is not in the pack.`);
    for (const { candidates } of each.parents) for (const parent of candidates) await this.idOf(parent.ref);
    if ('facts' in each) await this.registerAnimal(each);
    else await this.registerRelative(each);
    return this.ids.get(ref) ?? '';
  }

  private async lineId(name: string | null): Promise<object> {
    if (name === null) return {};
    const { taxonId } = this;
    const line =
      (await this.world.db.line.findFirst({ where: { taxonId, name } })) ??
      (await this.world.db.line.create({ data: { id: crypto.randomUUID(), taxonId, name } }));
    return { lineId: line.id };
  }

  private async registerRelative(each: Relative): Promise<void> {
    const { ref, kind, sex, birthYear, originClass, parents, line } = each;
    const told = {
      ...(await this.lineId(line)),
      ...(birthYear === null ? {} : { birth: { edtf: String(birthYear), manner: 'unknown' } }),
      ...(originClass === 'unknown' ? {} : { originClass }),
    };
    const id =
      kind === 'lot'
        ? await this.world.lot(this.keeper, this.taxonId, 1, told)
        : await this.world.animal(this.keeper, this.taxonId, { ...told, ...(sex === 'unknown' ? {} : { sex }) });
    this.ids.set(ref, id);
    for (const claim of parents) await this.recordParent(id, claim);
  }

  private async recordParent(animalId: string, claim: Relative['parents'][number], more: object = {}): Promise<void> {
    const { role, basis, withoutSire, candidates } = claim;
    const named = candidates.map(({ ref, probability }) => ({ parentId: this.ids.get(ref), probability }));
    const [only] = named;
    const parents = withoutSire
      ? { withoutSire }
      : named.length === 1
        ? { parentId: only?.parentId }
        : { candidates: named };
    await this.do('recordParent', { animalId, role, basis, ...parents, ...more });
  }

  private async registerAnimal(animal: Animal): Promise<void> {
    const { facts, outOfLot, ref } = animal;
    // What was said in the act of registering comes first.
    const first = facts.filter((fact) => fact.recordedAt === facts[0]?.recordedAt);
    const said = <K extends Fact['kind']>(kind: K) =>
      first.find((fact): fact is Extract<Fact, { kind: K }> => fact.kind === kind);
    const [birth, sex, name] = [said('birth'), said('sex')?.body.sex, said('name')?.body.name];
    if (outOfLot === null) {
      const since = animal.custody[0]?.from;
      const told = {
        ...(await this.lineId(animal.line)),
        ...(birth?.when ? { birth: { edtf: birth.when.edtf, manner: birth.body.manner } } : {}),
        ...(said('origin') ? { originClass: said('origin')?.body.originClass } : {}),
        ...(name === undefined ? {} : { name }),
        ...(animal.founder === true ? { founder: true } : {}),
        since,
      };
      const [opening] = animal.countChanges;
      const id =
        animal.kind === 'individual'
          ? await this.world.animal(this.keeper, this.taxonId, { ...told, ...(sex === undefined ? {} : { sex }) })
          : await this.world.lot(this.keeper, this.taxonId, opening?.delta ?? 0, {
              ...told,
              estimated: opening?.estimated,
            });
      this.ids.set(ref, id);
    } else {
      // Its lot lets it out, and says its facts.
      await this.idOf(outOfLot.lot);
      if (!this.ids.has(ref)) throw new Error(`${ref} did not come out of its lot.`);
      return;
    }
    await this.sayFacts(animal, first);
    if (animal.kind === 'lot') await this.count(animal);
  }

  /** Says every fact again in the order it was said, each in the place of the one it took the place of. */
  private async sayFacts(animal: Animal, first: readonly Fact[]): Promise<void> {
    const animalId = this.ids.get(animal.ref) ?? '';
    const versions = await this.world.db.animalFact.findMany({
      where: { animalId },
      orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
      select: { id: true },
    });
    const ids = new Map(first.map((fact, i) => [fact.no, versions[i]?.id ?? '']));
    for (const fact of animal.facts) {
      if (ids.has(fact.no)) continue;
      const before = animal.facts.find((each) => each.superseded?.by === fact.no);
      const when = edtf(fact.when);
      if (fact.kind === 'fate') {
        const { fate, ...more } = fact.body;
        await this.do('recordFate', { animalId, fate: fate === 'alive' ? 'found' : fate, when, ...more });
        ids.set(fact.no, '');
      } else if (before === undefined) {
        ids.set(fact.no, (await this.do('recordFact', { animalId, when, ...inputOf(fact) })).factId);
      } else {
        const factId = ids.get(before.no);
        const said = fact.kind === 'seen' ? {} : inputOf(fact);
        const input = { factId, when, reason: before.superseded?.reason, ...said };
        ids.set(fact.no, (await this.do('supersedeFact', input)).factId);
      }
    }
    for (const { no, superseded } of animal.facts) {
      if (superseded !== null && superseded.by === null)
        await this.do('withdrawFact', { factId: ids.get(no), reason: superseded.reason });
    }
  }

  private async count(lot: Animal): Promise<void> {
    const lotId = this.ids.get(lot.ref) ?? '';
    let left = 0;
    for (const { cause, delta, estimated, on } of lot.countChanges) {
      left += delta;
      if (cause === 'corrected')
        await this.do('recountLot', { lotId, on, count: left, estimated, reason: 'As in the pack.' });
      else if (cause === 'found') await this.do('findInLot', { lotId, on, count: delta });
      else if (cause === 'split_out') await this.do('splitLot', { lotId, on, count: -delta });
      else if (cause === 'raised_out') {
        const out = this.archive.pack.animals.filter(
          (each) => each.outOfLot?.lot === lot.ref && !this.ids.has(each.ref),
        );
        const [next] = out;
        const said = next?.facts.filter((fact) => fact.recordedAt === next.facts[0]?.recordedAt) ?? [];
        const name = said.find((fact) => fact.kind === 'name')?.body.name;
        const sex = said.find((fact) => fact.kind === 'sex')?.body.sex;
        const { animals } = await this.do('raiseFromLot', { lotId, on, animals: [{ name, sex }] });
        if (next !== undefined) {
          this.ids.set(next.ref, animals[0]?.id ?? '');
          await this.sayFacts(next, said);
        }
      } else if (cause !== 'opening') await this.do('loseFromLot', { lotId, on, cause, count: -delta });
    }
  }

  /** Marks with all their versions, pictures, and the sessions of a photo documentation. */
  private async remarkAll(animal: Animal): Promise<void> {
    const animalId = this.ids.get(animal.ref) ?? '';
    const files = new Map<string, string>();
    for (const { path, sha256, caption, taken } of animal.pictures) {
      const told = { ...(caption === null ? {} : { caption }), ...(taken === null ? {} : { when: taken }) };
      const bytes = this.archive.members[path] ?? new Uint8Array();
      files.set(sha256, await this.client.put(this.keeper, `/animals/${animalId}/files`, bytes, 'image/jpeg', told));
    }
    const series = new Map<number, { markId: string; last: Animal['marks'][number] }>();
    for (const mark of animal.marks) {
      const known = series.get(mark.series);
      const { kind, value, size, fixedView, withScale, intervalDays } = mark;
      const when = edtf(mark.when);
      const told = { kind, value, size, fixedView, withScale, intervalDays, when };
      if (known === undefined) {
        const made = await this.do('recordMark', { animalId, ...told });
        series.set(mark.series, { markId: made.mark.id, last: mark });
      } else {
        const { markId, last } = known;
        const ends = last.until === null && mark.until !== null;
        const reason = last.superseded?.reason;
        if (ends) await this.do('endMark', { markId, cause: mark.endCause, until: edtf(mark.until), note: reason });
        else await this.do('correctMark', { markId, ...told, reason });
        series.set(mark.series, { markId, last: mark });
      }
      const markId = series.get(mark.series)?.markId;
      const sessions = new Map<string, string>();
      for (const { takenOn, pictures, comparisons } of mark.sessions) {
        const fileIds = pictures.map((sha) => files.get(sha));
        const { sessionId } = await this.do('recordPhotoSession', { markId, takenOn, fileIds });
        sessions.set(takenOn, sessionId);
        for (const { earlierOn, verdict } of comparisons)
          await this.do('confirmPhotoComparison', { sessionId, earlierSessionId: sessions.get(earlierOn), verdict });
      }
    }
  }

  private async sayParents(animal: Animal): Promise<void> {
    const reasons = new Map<string, string | null>();
    for (const claim of animal.parents) {
      const { role, when, evidence, superseded } = claim;
      // One raised out of a lot has the parents of the lot already.
      if (animal.outOfLot === null)
        await this.recordParent(this.ids.get(animal.ref) ?? '', claim, {
          when: edtf(when),
          evidence,
          reason: reasons.get(role) ?? null,
        });
      reasons.set(role, superseded?.reason ?? null);
    }
  }

  private async quarantine(animal: Animal): Promise<void> {
    const animalId = this.ids.get(animal.ref) ?? '';
    const { keeperId } = this.keeper;
    for (const { days, restartScope, enteredOn, leftOn, restartedOn } of animal.quarantines) {
      const opened = { keeperId, animalIds: [animalId], enteredOn, days, restartScope };
      const groupId = (await this.do('openQuarantine', opened)).quarantine.id;
      for (const day of restartedOn) {
        const newcomer = await this.world.animal(this.keeper, this.taxonId, { since: day });
        await this.do('joinQuarantine', { groupId, animalIds: [newcomer], enteredOn: day });
      }
      if (leftOn !== null) await this.do('releaseQuarantine', { groupId, on: leftOn, reason: 'As in the pack.' });
    }
  }

  private async documents(animal: Animal): Promise<void> {
    const covers = [{ animalId: this.ids.get(animal.ref) }];
    for (const {
      files,
      kind,
      permitForm,
      number,
      authority,
      jurisdiction,
      validFrom,
      validUntil,
    } of animal.documents) {
      const said = { kind, permitForm, number, authority, jurisdiction, validFrom, validUntil };
      const { document } = await this.do('recordDocument', { keeperId: this.keeper.keeperId, covers, ...said });
      for (const { path, mediaType } of files) {
        const bytes = this.archive.members[path] ?? new Uint8Array();
        await this.client.put(this.keeper, `/documents/${document.id}/files`, bytes, mediaType);
      }
    }
  }

  /** Matings and clutches, each once, whichever animals of the pack they are told of. */
  private async breed(): Promise<void> {
    const done = new Set<string>();
    const once = (key: string): boolean => !done.has(key) && done.add(key).size > 0;
    const id = (ref: string | null) => (ref === null ? null : this.ids.get(ref));
    for (const animal of this.archive.pack.animals) {
      for (const { dam, sire, basis, controlled, when, recordedAt } of animal.matings) {
        if (once(`${dam} ${recordedAt}`))
          await this.do('recordMating', { damId: id(dam), sireId: id(sire), basis, controlled, when: edtf(when) });
      }
      for (const clutch of animal.clutches) {
        const { dams, laid, recordedAt, eggEvents, young, kind, eggCount, controlled, foundOn } = clutch;
        if (!once(`clutch ${recordedAt}`)) continue;
        const named = dams.map(({ ref, probability }) => ({ parentId: id(ref), probability }));
        const parents = named.length === 1 ? { damId: named[0]?.parentId } : { damCandidates: named };
        const said = { kind, eggCount, controlled, foundOn };
        const made = { ...said, ...parents, laid: edtf(laid), separateClutch: true };
        const clutchId = (await this.do('recordClutch', made)).clutch.id;
        for (const event of eggEvents) {
          const eggs = event.egg === null ? {} : { eggs: [event.egg] };
          const { kind: what, celsius, candling } = event;
          await this.do('recordEggEvents', {
            clutchId,
            ...eggs,
            kind: what,
            celsius,
            candling,
            when: edtf(event.when),
          });
        }
        for (const { ref, egg: eggNumber, when, ...hatched } of young)
          await this.do('recordHatching', {
            ...{ animalId: id(ref), clutchId, eggNumber, controlled: hatched.controlled, when: edtf(when) },
          });
      }
    }
  }
}

/** A fact as the API takes it. */
function inputOf(fact: Fact): object {
  switch (fact.kind) {
    case 'birth':
      return { birthManner: fact.body.manner };
    case 'name':
      return { name: fact.body.name };
    case 'seen':
      return { seen: true };
    case 'weight':
      return { weightGrams: fact.body.grams };
    case 'length':
      return {
        measurement: { quantity: 'length', value: fact.body.millimetres, unit: 'mm', measure: fact.body.measure },
      };
    case 'temperature':
      return { measurement: { quantity: 'temperature', value: fact.body.celsius, unit: 'celsius', of: fact.body.of } };
    default:
      return { [fact.kind]: fact.body };
  }
}
