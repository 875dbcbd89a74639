import { Args, ID, Query, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { OriginClassType, toAnimalType } from '../../animal/index.js';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer } from '../../platform/graphql/index.js';
import { ReadOrigin, type ShownFinding } from '../app/read-origin.js';
import { ORIGIN_CAUTION } from '../core/caution.core.js';
import {
  OriginFindingType,
  OriginPartType,
  OriginPurposeType,
  OriginVerdictType,
  OriginWeightType,
  SourceCodeType,
} from './origin.types.js';

@Resolver()
export class OriginResolver {
  constructor(private readonly origins: ReadOrigin) {}

  @Query(() => OriginFindingType, {
    description: 'What the records say of an animal’s origin, for those to whom its record is shown.',
  })
  @Authorize('provenance.read-origin')
  async originFinding(
    @CurrentViewer() viewer: Viewer,
    @Args('animalId', { type: () => ID }) animalId: string,
    @Args('purpose', { type: () => OriginPurposeType, nullable: true }) purpose?: OriginPurposeType | null,
  ): Promise<OriginFindingType> {
    if (!z.uuid().safeParse(animalId).success) throw notFound('animal');
    return toFindingType(await this.origins.of(viewer, animalId, purpose ?? null));
  }
}

function toFindingType({ view, finding, suggestion }: ShownFinding): OriginFindingType {
  return {
    animal: toAnimalType(view),
    claim: OriginClassType[finding.claim],
    verdict: OriginVerdictType[finding.verdict],
    items: finding.items.map((item) => ({
      ...item,
      factIds: [...item.factIds],
      part: OriginPartType[item.part],
      weighs: OriginWeightType[item.weighs],
    })),
    missing: [...finding.missing],
    askFirst: finding.askFirst,
    generation: finding.generation,
    sourceCode: {
      codes: suggestion.codes.map((code) => SourceCodeType[code]),
      alongside: suggestion.alongside.map((code) => SourceCodeType[code]),
      words: suggestion.words,
      source: suggestion.source,
    },
    caution: ORIGIN_CAUTION,
  };
}
