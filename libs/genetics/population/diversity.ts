/**
 * Gene diversity GD = 1 − mean kinship of the population, its members' kinship with themselves included
 * (Ballou & Lacy 1995): the share of the founders' diversity that is left.
 */
export function geneDiversity(populationMeanKinship: number): number {
  return 1 - populationMeanKinship;
}

/**
 * Founder genome equivalents fg = 1/(2 · mean kinship), the exact expectation over all ways the genes may have
 * segregated: so many unrelated founders would hold the same diversity (Lacy 1989, Zoo Biol. 8:111; Ballou & Lacy 1995).
 * It may be below 1 (mean kinship above ½ in a strongly inbred population) and is never clamped. Estimates from gene
 * drops, or Σp²/r with a mean retention r, are other definitions and give other numbers.
 */
export function founderGenomeEquivalents(populationMeanKinship: number): number {
  return 1 / (2 * populationMeanKinship);
}
