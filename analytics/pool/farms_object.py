"""What pairs of several farms say, as an object that other programs read: unknown is null."""

from typing import Any

from analytics.answer.as_json import ASKED_OF_BOTH, COUNTED, JUDGED
from analytics.pool.farm_answers import FarmAnswers
from analytics.statistics.results import Answer, Finding

SDS = ("farm_sd", "year_sd", "farm_year_sd", "place_sd", "rest_sd")


def farms_object(answers: FarmAnswers) -> dict[str, Any]:
    """What `standrow compare --json` adds where a column names the farm: these_farms, another_farm, farms.

    another_farm : std_error, df, low, high of the mean over farms of the kind; farm_low, farm_high of another farm's
        own mean, which the finding judges; prediction_low, prediction_high of one field-year there
    """
    other, model = answers.another_farm, answers.model
    another: dict[str, Any]
    if model is None:
        another = {"finding": other.finding, "reason": other.reason}
    else:
        another = {
            "estimate": model.estimate,
            "std_error": model.std_error,
            "df": model.df,
            "low": answers.mean_low,
            "high": answers.mean_high,
            "farm_low": other.low,
            "farm_high": other.high,
            "prediction_low": other.prediction_low,
            "prediction_high": other.prediction_high,
            **{name: getattr(model, name) for name in SDS},
            "method": other.method,
            **{name: getattr(other, name) for name in ("p_value", *JUDGED)},
        }
    farms = [
        {"farm": one.name, "field_years": one.field_years, "raw": one.raw, "shrunk": one.shrunken if model else None}
        for one in answers.farms
    ]
    return {"these_farms": answer_object(answers.these_farms), "another_farm": another, "farms": farms}


def answer_object(answer: Answer) -> dict[str, Any]:
    """One question, answered."""
    values = {name: getattr(answer, name) for name in (*ASKED_OF_BOTH, "scope", *JUDGED, *COUNTED)}
    return values | {"reason": answer.reason} if answer.finding is Finding.TOO_FEW else values
