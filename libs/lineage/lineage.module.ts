import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { ComputeModule } from '../platform/compute/index.js';
import { TaxonModule } from '../taxon/index.js';
import { ChartController } from './chart/chart.controller.js';
import { DrawCharts } from './chart/draw-charts.js';
import { ClaimReadStore } from './claim-read.store.js';
import { ClaimResolver } from './claim.resolver.js';
import { DeclareFounder } from './declare-founder.js';
import { DescendantLists } from './descendant-lists.js';
import { DescendantResolver } from './descendant.resolver.js';
import { DescendantStore } from './descendants.store.js';
import { KinshipResolver } from './kinship.resolver.js';
import { KinshipTables } from './kinship-table.js';
import { LineageReadStore } from './lineage-read.store.js';
import { LineageResolver } from './lineage.resolver.js';
import { LivePedigree } from './live-pedigree.js';
import { LivingPopulation } from './living-population.js';
import { PastLineage } from './past-lineage.js';
import { RecordParent } from './record-parent.js';
import { RelateAnimals } from './relate-animals.js';
import { SealedIds } from './sealed-ids.js';

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
