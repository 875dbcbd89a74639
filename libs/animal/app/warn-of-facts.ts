import { Injectable } from '@nestjs/common';
import { dayOf } from '../../kernel/index.js';
import { isGrownUp } from '../../taxon/index.js';
import { inForce, project } from '../core/fact.core.js';
import { warnOfSeries, warnOfTaxon } from '../core/growth.core.js';
import { type Warning } from '../core/mark.core.js';
import { measurementOf, seriesOnDays } from '../core/measurement.core.js';
import { FactHistoryStore } from '../store/fact-history.store.js';
import { type RecordedFact } from './record-facts.js';

/** What a keeper should know about facts just recorded: measurements that do not fit the animal or its taxon. */
@Injectable()
export class WarnOfFacts {
  constructor(private readonly history: FactHistoryStore) {}

  /**
   * Warnings by fact. For viewers who may read the whole record. Each measurement is held against the others in force, those of
   * the same call too, unless they were recorded after it.
   */
  async of(recorded: readonly Pick<RecordedFact, 'animalId' | 'factId'>[]): Promise<Map<string, readonly Warning[]>> {
    const animalIds = [...new Set(recorded.map(({ animalId }) => animalId))];
    const facts = await this.history.findVersions(animalIds);
    const profiles = await this.history.findProfiles(animalIds);
    const warnings = new Map<string, readonly Warning[]>();
    for (const { animalId, factId } of recorded) {
      const current = inForce(facts.get(animalId) ?? [], null);
      const place = current.findIndex(({ id }) => id === factId);
      const fact = current[place];
      if (fact === undefined) continue;
      const measured = measurementOf(fact);
      if (measured === null) continue;
      const { quantity, measure, of } = measured;
      const series = { quantity, measure, of };
      const { days } = seriesOnDays(current.slice(0, place), series);
      const day = fact.when?.latest ?? fact.when?.earliest ?? dayOf(fact.recordedAt);
      const profile = profiles.get(animalId) ?? {};
      const grownUp = isGrownUp(project(current).birth, profile.maturityDays, day) === 'yes';
      warnings.set(factId, [
        ...warnOfSeries({ day, value: measured.value }, days, series),
        ...warnOfTaxon(measured, profile, grownUp),
      ]);
    }
    return warnings;
  }
}
