import { ArgsType, Field, Float, Int, ObjectType } from '@nestjs/graphql';
import { AnimalType } from '../../animal/index.js';
import { Connection, PageArgs } from '../../platform/graphql/index.js';
import { MAX_DESCENDANT_GENERATIONS } from './descendant-lists.js';

@ArgsType()
export class DescendantArgs extends PageArgs {
  @Field(() => Int, { nullable: true, description: `1 to ${MAX_DESCENDANT_GENERATIONS}; 3 when left out.` })
  generations?: number | null;
}

@ObjectType('Descendant', {
  description:
    'An animal that descends, or may descend, from another. One that is not shown to the viewer stands here without identity.',
})
export class DescendantType {
  @Field(() => Int, { description: 'Generations between the two, on the shortest way.' })
  generation!: number;

  @Field(() => Float, { description: 'Share of its genes expected to come from the animal, over all ways, 0 to 1.' })
  share!: number;

  @Field(() => Float, {
    description:
      'Probability that it descends from the animal; below 1 where the ways lead over one of several possible parents.',
  })
  probability!: number;

  @Field(() => Boolean, { description: 'Whether the viewer may see which animal it is.' })
  shown!: boolean;

  @Field(() => AnimalType, { nullable: true })
  animal!: AnimalType | null;
}

export const DescendantConnection = Connection(DescendantType, 'Descendant');
