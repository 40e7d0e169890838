"""Random compositions of food for the property tests."""

from hypothesis import strategies as st

from app.science.composition import Composition


@st.composite
def compositions(draw: st.DrawFn, least_water: float = 0.3) -> Composition:
    """Food whose parts sum to between 0.97 and 1.02, as those of the analysed table do."""
    water = draw(st.floats(least_water, 0.95))
    weights = [draw(st.floats(0.01, 1.0)) for _ in range(4)]
    rest = draw(st.floats(0.97, 1.02)) - water
    protein, fat, carbohydrate, ash = (rest * w / sum(weights) for w in weights)
    fibre = carbohydrate * draw(st.floats(0.0, 1.0))
    return Composition(water, protein, fat, carbohydrate, ash, fibre)
