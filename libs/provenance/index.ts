/** What the records say of where animals come from: findings by rules, the permit source code they suggest, the worker's check. */
export { ReadOrigin, type ShownFinding } from './app/read-origin.js';
export { ORIGIN_CAUTION } from './core/caution.core.js';
export { originFinding, type OriginFinding, type Verdict } from './core/origin-finding.core.js';
export {
  type Appendix,
  type SourceCode,
  type SourceFacts,
  type SourceSuggestion,
  suggestSourceCode,
} from './core/source-code.core.js';
export { OriginWeigher } from './jobs/origin-weigher.js';
export { ProvenanceJobsModule } from './jobs/provenance-jobs.module.js';
export { RecheckOriginHandler } from './jobs/recheck-origin.handler.js';
export { SweepOriginsHandler } from './jobs/sweep-origins.handler.js';
export { requestOriginSweep, sweepOrigins } from './jobs/sweep-origins.job.js';
export { WeighOriginsHandler } from './jobs/weigh-origins.handler.js';
export {
  ANSWER_DAYS,
  ORIGIN_FINDING_CHANGED,
  originFindingChangedNotice,
  weighOrigins,
} from './jobs/weigh-origins.job.js';
export { ProvenanceModule } from './provenance.module.js';
