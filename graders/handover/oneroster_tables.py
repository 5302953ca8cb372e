"""The files of a OneRoster 1.2 CSV package and their columns, in the binding's order.

After the OneRoster CSV Binding 1.2.1 of 1EdTech (2023), section 4 (file formats): a file has
every column, in this order, also those left empty.
"""

from __future__ import annotations

from collections.abc import Mapping

MANIFEST = "manifest"

_COMMON = ("sourcedId", "status", "dateLastModified")

COLUMNS: Mapping[str, tuple[str, ...]] = {
    "academicSessions": (
        *_COMMON, "title", "type", "startDate", "endDate", "parentSourcedId", "schoolYear",
    ),
    "orgs": (*_COMMON, "name", "type", "identifier", "parentSourcedId"),
    "courses": (
        *_COMMON, "schoolYearSourcedId", "title", "courseCode", "grades", "orgSourcedId",
        "subjects", "subjectCodes",
    ),
    "classes": (
        *_COMMON, "title", "grades", "courseSourcedId", "classCode", "classType", "location",
        "schoolSourcedId", "termSourcedIds", "subjects", "subjectCodes", "periods",
    ),
    "users": (
        *_COMMON, "enabledUser", "username", "userIds", "givenName", "familyName", "middleName",
        "identifier", "email", "sms", "phone", "agentSourcedIds", "grades", "password",
        "userMasterIdentifier", "preferredGivenName", "preferredMiddleName",
        "preferredFamilyName", "primaryOrgSourcedId", "pronouns",
    ),
    "roles": (
        *_COMMON, "userSourcedId", "roleType", "role", "beginDate", "endDate", "orgSourcedId",
        "userProfileSourcedId",
    ),
    "enrollments": (
        *_COMMON, "classSourcedId", "schoolSourcedId", "userSourcedId", "role", "primary",
        "beginDate", "endDate",
    ),
    "categories": (*_COMMON, "title", "weight"),
    "lineItems": (
        *_COMMON, "title", "description", "assignDate", "dueDate", "classSourcedId",
        "categorySourcedId", "academicSessionSourcedId", "resultValueMin", "resultValueMax",
        "schoolSourcedId",
    ),
    "results": (
        *_COMMON, "lineItemSourcedId", "studentSourcedId", "scoreStatus", "score", "scoreDate",
        "comment", "textScore", "classSourcedId", "inProgress", "incomplete", "late", "missing",
    ),
}  # fmt: skip

# Files that a manifest names although the package has none of them.
ABSENT = (
    "classResources", "courseResources", "demographics", "lineItemLearningObjectiveIds",
    "lineItemScoreScales", "resources", "resultLearningObjectiveIds", "resultScoreScales",
    "scoreScales", "userProfiles", "userResources",
)  # fmt: skip
