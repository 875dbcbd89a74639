import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { ComputeModule } from '../platform/compute/index.js';
import { TaxonModule } from '../taxon/index.js';
import { ClaimReadStore } from './claim-read.store.js';
import { ClaimResolver } from './claim.resolver.js';
import { DeclareFounder } from './declare-founder.js';
import { KinshipResolver } from './kinship.resolver.js';
import { LineageReadStore } from './lineage-read.store.js';
import { LineageResolver } from './lineage.resolver.js';
import { LivePedigree } from './live-pedigree.js';
import { LivingPopulation } from './living-population.js';
import { PastLineage } from './past-lineage.js';
import { RecordParent } from './record-parent.js';

@Module({
  imports: [AnimalModule, ComputeModule, TaxonModule],
  providers: [
    ClaimReadStore,
    ClaimResolver,
    DeclareFounder,
    KinshipResolver,
    LineageReadStore,
    LineageResolver,
    LivePedigree,
    LivingPopulation,
    PastLineage,
    RecordParent,
  ],
  exports: [LivePedigree, LivingPopulation],
})
export class LineageModule {}
