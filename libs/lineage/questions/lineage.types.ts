import { Field, Float, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { AnimalType } from '../../animal/index.js';
import { TaxonType } from '../../taxon/index.js';

export enum ParentRoleType {
  sire = 'sire',
  dam = 'dam',
}
registerEnumType(ParentRoleType, { name: 'ParentRole' });

export enum ParentageBasisType {
  observed = 'observed',
  shared_enclosure = 'shared_enclosure',
  declared = 'declared',
  genetic_test = 'genetic_test',
}
registerEnumType(ParentageBasisType, { name: 'ParentageBasis', description: 'What a claim on a parent rests on.' });

@ObjectType('Ancestor', {
  description:
    'A known ancestor. One that is not shown to the viewer stands here without identity, because numbers use it.',
})
export class AncestorType {
  @Field(() => String, { description: 'The way to it: `s` for sire, `d` for dam; `sd` is the sire’s dam.' })
  path!: string;

  @Field(() => Int)
  generation!: number;

  @Field(() => Boolean, { description: 'Whether the viewer may see which animal it is.' })
  shown!: boolean;

  @Field(() => AnimalType, { nullable: true })
  animal!: AnimalType | null;
}

@ObjectType('Inbreeding', {
  description: 'A lower bound: unknown parents count as unrelated. Read it beside `knownAncestry`.',
})
export class InbreedingType {
  @Field(() => Float, { description: 'Inbreeding coefficient F, kinship of the parents.' })
  value!: number;

  @Field(() => Float, { description: 'Share of the ancestry that leads back to founders, 0 to 1.' })
  knownAncestry!: number;

  @Field(() => TaxonType, { description: 'The pedigree it was computed in: the whole of this taxon, shared or not.' })
  population!: TaxonType;

  @Field(() => String, { description: 'Version of that pedigree.' })
  version!: string;
}
