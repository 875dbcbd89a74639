/** Matings, clutches and hatchings as facts, minimal forms. They go with the record of the animal they are about. */
export { CorrectBreedingFact, type CorrectBreedingFactCommand } from './app/correct-breeding-fact.js';
export { RecordClutch, type RecordClutchCommand } from './app/record-clutch.js';
export { RecordHatching, type RecordHatchingCommand } from './app/record-hatching.js';
export { RecordMating, type RecordMatingCommand } from './app/record-mating.js';
export { BreedingModule } from './breeding.module.js';
