import type { Analysis, Computed, DepthFigures } from './analyse.js';
import type { Defect, DefectKind } from './defects.js';
import type { Registered } from './registered.js';

/** Longest list of animals, and of messages of one kind, in the summary; --json has them all. */
const MOST_LISTED = 5;
const MOST_MESSAGES = 3;

const DEFECT_TITLES: Readonly<Record<DefectKind, string>> = {
  self_parent: 'own parent',
  cycle: 'loop in the pedigree',
  duplicate_id: 'id used twice',
  missing_row: 'parent without a line',
  sex_conflict: 'sex does not fit',
  date_conflict: 'birth does not fit',
};

/** What a keeper reads: what was found, what is wrong with it and how to mend that, in about 30 lines. */
export function summary(name: string, analysis: Analysis): string {
  const { animals, defects, unreadBirths, computed } = analysis;
  const added = animals.ids.length - animals.rows.length;
  const lines = [
    `${name}: ${animals.ids.length} animals${added > 0 ? `, ${added} of them added because they have no line` : ''}`,
    ...(animals.unknownMarks > 0
      ? [`${animals.unknownMarks} parent entries such as 0 or ? were read as "not known".`]
      : []),
    ...(unreadBirths > 0
      ? [`${unreadBirths} births could not be read and were not compared. Write 2021, 2021-05 or 2021-05-03.`]
      : []),
    '',
    ...defectLines(defects),
    ...(computed ? figureLines(analysis, computed) : ['', 'Nothing was computed. Correct the lines above first.']),
  ];
  return `${lines.join('\n')}\n`;
}

function defectLines(defects: readonly Defect[]): string[] {
  if (defects.length === 0) return ['Defects: none found.'];
  const lines = [`Defects: ${defects.length}`];
  for (const [kind, title] of Object.entries(DEFECT_TITLES)) {
    const ofKind = defects.filter((defect) => defect.kind === kind);
    if (ofKind.length === 0) continue;
    lines.push(`  ${title} (${kind}): ${ofKind.length}`);
    lines.push(...ofKind.slice(0, MOST_MESSAGES).map((defect) => `    ${defect.message}`));
    if (ofKind.length > MOST_MESSAGES) lines.push(`    … ${ofKind.length - MOST_MESSAGES} more; --json lists all`);
  }
  return lines;
}

function figureLines({ animals }: Analysis, computed: Computed): string[] {
  const { inbreeding, knownAncestry, meanKinship, population, depth, reference, pairs } = computed;
  const all = animals.ids.map((_, i) => i);
  const inbred = all.filter((i) => (inbreeding[i] ?? 0) > 0);
  const value = (values: Float64Array, i: number): number => values[i] ?? 0;
  const mostInbred = inbred.sort((a, b) => value(inbreeding, b) - value(inbreeding, a)).slice(0, MOST_LISTED);
  const rarest = all
    .filter((i) => reference.members[i] === 1)
    .sort((a, b) => value(meanKinship, a) - value(meanKinship, b))
    .slice(0, MOST_LISTED);
  return [
    '',
    `Inbreeding F: ${inbred.length} of ${all.length} animals above 0. F is a lower bound: parents that are not known count as`,
    'unrelated. The share of known ancestry says how far to trust it.',
    ...mostInbred.map(
      (i) =>
        `  ${animals.ids[i] ?? ''}: F ${number(value(inbreeding, i))}, known ancestry ${percent(value(knownAncestry, i))}`,
    ),
    '',
    `Reference group: ${reference.label}, ${population.size} animals`,
    `  mean inbreeding               ${number(population.meanInbreeding)}, known ancestry ${percent(population.knownAncestry)}`,
    `  mean kinship                  ${number(population.meanKinship)}`,
    `  gene diversity                ${number(population.geneDiversity)} of what the founders had`,
    `  founder genome equivalents    ${number(population.founderGenomeEquivalents)}`,
    `  founder equivalents           ${number(population.founderEquivalents)} (each unknown parent a founder), ${number(population.founderEquivalentsKnownOnly)} (known founders only)`,
    `  effective ancestors           ${number(population.effectiveAncestors)}`,
    `  generation equivalents        ${number(depth.meanGenerationEquivalents)} known above each member, on average`,
    `  ancestral inbreeding          ${number(depth.meanAncestralInbreeding)} on average`,
    `  effective population size     ${effectiveSizeLine(depth)}`,
    'Lowest mean kinship, so the rarest lines:',
    ...rarest.map((i) => `  ${animals.ids[i] ?? ''}: ${number(value(meanKinship, i))}`),
    ...(pairs.length > 0 ? ['', 'Kinship of pairs, which is the F of their offspring:'] : []),
    ...pairs.map(({ a, b, kinship }) => `  ${a} × ${b}: ${number(kinship)}`),
    '',
    'These figures say nothing of health, temper, age or the law, and are no advice to breed an animal.',
  ];
}

function effectiveSizeLine({ effectiveSize, effectiveSizeStandardError, effectiveSizeCounted }: DepthFigures): string {
  const members = `${effectiveSizeCounted} members with more than one generation`;
  if (effectiveSizeCounted === 0) return 'cannot be told: no member has more than one known generation';
  if (effectiveSize === null) return `no limit seen: none of ${members} is inbred`;
  const error = effectiveSizeStandardError === null ? '' : ` ± ${effectiveSizeStandardError.toFixed(1)}`;
  return `${effectiveSize.toFixed(1)}${error}, by the inbreeding of ${members}`;
}

function number(value: number): string {
  return value.toFixed(4);
}

function percent(share: number): string {
  return `${(100 * share).toFixed(0)} %`;
}

/** What became of the animals in the registry, in a few lines. */
export function registrationLines(registered: Registered): string {
  const { animals, keepers, dead, unheld, setAside } = registered;
  const seconds = (registered.milliseconds / 1000).toFixed(1);
  const lines = [
    '',
    `Registered: ${animals} animals of ${registered.taxon} with ${keepers} keepers of "${registered.club}" in ${seconds} s`,
    ...(dead > 0 ? [`  ${dead} of them as dead`] : []),
    ...(unheld > 0
      ? [`  ${unheld} parents without a line stand in the pedigree only: nobody holds them or reads their record`]
      : []),
    ...setAside
      .slice(0, MOST_LISTED)
      .map(({ ownNumber, entry }) => `  the ${entry} of "${ownNumber}" does not fit its relatives: kept as a note`),
    ...(setAside.length > MOST_LISTED ? [`  ${setAside.length - MOST_LISTED} more such entries kept as notes`] : []),
  ];
  return `${lines.join('\n')}\n`;
}
