import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { ComputeModule } from '../platform/compute/index.js';
import { TaxonModule } from '../taxon/index.js';
import { ChartController } from './chart/chart.controller.js';
import { DrawCharts } from './chart/draw-charts.js';
import { ClaimReadStore } from './claims/claim-read.store.js';
import { ClaimResolver } from './claims/claim.resolver.js';
import { DeclareFounder } from './claims/declare-founder.js';
import { DescendantLists } from './questions/descendant-lists.js';
import { DescendantResolver } from './questions/descendant.resolver.js';
import { DescendantStore } from './questions/descendants.store.js';
import { KinshipResolver } from './questions/kinship.resolver.js';
import { KinshipTables } from './questions/kinship-table.js';
import { LineageReadStore } from './pedigree/lineage-read.store.js';
import { LineageResolver } from './questions/lineage.resolver.js';
import { LivePedigree } from './pedigree/live-pedigree.js';
import { LivingPopulation } from './pedigree/living-population.js';
import { PastLineage } from './pedigree/past-lineage.js';
import { RecordParent } from './claims/record-parent.js';
import { RelateAnimals } from './questions/relate-animals.js';
import { SealedIds } from './questions/sealed-ids.js';

@Module({
  imports: [AnimalModule, ComputeModule, TaxonModule],
  controllers: [ChartController],
  providers: [
    ClaimReadStore,
    ClaimResolver,
    DeclareFounder,
    DescendantLists,
    DescendantResolver,
    DescendantStore,
    DrawCharts,
    KinshipResolver,
    KinshipTables,
    LineageReadStore,
    LineageResolver,
    LivePedigree,
    LivingPopulation,
    PastLineage,
    RecordParent,
    RelateAnimals,
    SealedIds,
  ],
  exports: [LivePedigree, LivingPopulation, PastLineage, RelateAnimals],
})
export class LineageModule {}
